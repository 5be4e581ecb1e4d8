"""Blocks of the page of signatures as HTML.  Every text of a person's is escaped."""

from collections.abc import Iterable, Sequence
from html import escape

from dashboard.frame.markup import unbroken
from dashboard.frame.signing_words import signature
from dashboard.signing import words
from spc.store.people import Request

_TYPED = '<input name="secret" type="password" autocomplete="current-password" required{focus}>'
_NAME = '<input name="name" autocomplete="username" autocapitalize="none" required{focus}>'


def requests(asked: Sequence[Request]) -> str:
    """What is signed: one thing in full, several each in a few lines."""
    if len(asked) == 1:
        return facts(_told(asked[0])) + _signatures(asked[0])
    return "".join(f"<h2>{escape(one.subject)}</h2>{facts(_told(one))}" for one in asked)


def facts(told: Iterable[tuple[str, str | Sequence[str]]]) -> str:
    """Names with what is told under each; several lines below each other."""
    rows = "".join(f"<dt>{escape(name)}</dt><dd>{_fact(value)}</dd>" for name, value in told)
    return f"<dl>{rows}</dl>"


def form(*, names: bool, button: str, beside: bool) -> str:
    """Where the secret is typed, and the name with it at the first signature of a session."""
    name, secret = (words.THEIR_NAME, words.THEIR_SECRET) if beside else (words.NAME, words.SECRET)
    focus = "" if beside else " autofocus"
    asked = f"<label>{escape(name)}{_NAME.format(focus=focus)}</label>" if names or beside else ""
    focus = "" if asked else focus
    kept = '<input type="hidden" name="beside" value="yes">' if beside else ""
    return (
        f'<form method="post">{kept}{asked}'
        f"<label>{escape(secret)}{_TYPED.format(focus=focus)}</label>"
        f"<button>{escape(button)}</button></form>"
    )


def elsewhere(address: str, label: str) -> str:
    """A button that leads to the provider, in a window of its own: it shows itself in no frame."""
    return f'<p><a class="button" target="_blank" href="{escape(address)}">{escape(label)}</a></p>'


def confirmation() -> str:
    """A button, where there is no secret to ask for."""
    return f'<form method="post"><button autofocus>{escape(words.CONFIRM)}</button></form>'


def folded(label: str, inside: str, *, opened: bool) -> str:
    """What is opened by who wants it."""
    shown = " open" if opened else ""
    return f"<details{shown}><summary>{escape(label)}</summary>{inside}</details>"


def news(sentences: Iterable[str]) -> str:
    """What is new, a line each."""
    items = "".join(f"<li>{escape(one)}</li>" for one in sentences)
    return f"<ul>{items}</ul>" if items else ""


def _told(one: Request) -> list[tuple[str, str | list[str]]]:
    return [*words.told(one.about), (words.REASON, one.reason)]


def _fact(value: str | Sequence[str]) -> str:
    if isinstance(value, str):
        return unbroken(value)
    return "".join(f"<div>{unbroken(one)}</div>" for one in value)


def _signatures(one: Request) -> str:
    return news(signature(signed) for signed in one.signatures)
