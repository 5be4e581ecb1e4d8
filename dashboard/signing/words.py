"""What is said where something is signed."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Any, Final

from dashboard.frame.signing_words import moment
from dashboard.frame.words import count, joined
from spc.store.people import Actor, Request

NAME: Final = "Name you sign in with"
SECRET: Final = "Your secret"  # noqa: S105 - a word on the page
THEIR_NAME: Final = "Name they sign in with"
THEIR_SECRET: Final = "Their secret"  # noqa: S105 - a word on the page
CONFIRM: Final = "Confirm"
BESIDE: Final = "The second person is here"
BESIDE_TOLD: Final = "They give their own name and secret; you stay signed in."
REASON: Final = "reason"
NOTHING: Final = "Nothing was signed."
DONE: Final = "Done. If this is a window of its own, close it."
GONE: Final = "This is no longer to be signed"
GONE_TOLD: Final = "It was signed or closed, or it belongs to another session. Open it again."

_NAMES: Final[Mapping[str, str]] = {
    "lines": "line by line",
    "flags": "beside it",
    "sentence": "the evidence",
    "scope": "for",
    "expires_on": "until",
}
# As they are read; the record keeps them in the order of the alphabet.
_ORDER: Final = (
    *("lot", "material", "supplier", "instead of", "decision", "scope", "expires_on", "until"),
    *("sentence", "evidence", "lines", "flags", "stands beside", "specification"),
)
# What the heading, or the sentence of the evidence, says already.
_SAID: Final = frozenset({"recommendation", "lot"})


def told(about: Mapping[str, Any]) -> list[tuple[str, str | list[str]]]:
    """What is signed, as names with a text or lines under each; what is empty is left out."""
    flat: list[tuple[str, Any]] = []
    for name, value in about.items():
        flat += (
            value.items() if name == "decision" and isinstance(value, Mapping) else [(name, value)]
        )
    flat.sort(key=lambda fact: _ORDER.index(fact[0]) if fact[0] in _ORDER else len(_ORDER))
    shown = [(name, _shown(name, value)) for name, value in flat if name not in _SAID]
    return [(name_of(name), value) for name, value in shown if value]


def _shown(name: str, value: Any) -> str | list[str]:
    if name == "specification" and isinstance(value, Mapping):
        return f"{value['material']}, version {value['version']}"
    if isinstance(value, Mapping):
        return [f"{one}: {text}" for one, text in value.items()]
    if isinstance(value, (list, tuple)):
        return [_line(one) for one in value]
    return "" if value is None else str(value)


def _line(one: Any) -> str:
    if not isinstance(one, Mapping):
        return str(one)
    first, *others = (str(text) for text in one.values())
    return f"{first}: {', '.join(others)}"


def name_of(fact: str) -> str:
    """What a fact of a request is called beside its text."""
    return _NAMES.get(fact, fact.replace("_", " "))


def heading(requests: Sequence[Request]) -> str:
    """What a signature says of a thing."""
    first = requests[0]
    what = first.meaning[:1].upper() + first.meaning[1:]
    return f"{what}: {first.subject if len(requests) == 1 else count(len(requests), 'record')}"


def signer(actor: Actor, roles: Sequence[str], at: datetime) -> str:
    """Who is about to sign, and how they will stand in the record."""
    role = f", {joined(list(dict.fromkeys(roles)))}" if roles else ""
    return f"You sign as {actor.name}{role}, {moment(at)}."


def machine(actor: Actor) -> str:
    """What a confirmation on one's own machine is worth."""
    return (
        f"You confirm as {actor.name}, the computer's user. No secret is asked, because nobody is"
        " registered here; the record says so: one person, no second signature."
    )


def waits(request: Request) -> str:
    """What is still missing, and that nothing has changed until then."""
    first = request.signatures[0]
    return (
        f"{first.name} has signed. It waits for a second person, who finds it in their Today;"
        " until then nothing has changed."
    )


def asked(request: Request) -> str:
    """Who asks for a second signature."""
    first = request.signatures[0]
    if request.complete:
        return f"{first.name} signed this alone on {moment(first.signed_at)}; you countersign it."
    return f"{first.name} ({first.role}) asks you to sign with them."


def ended(one: Request) -> str:
    """Why a request is no longer to be signed."""
    what = "declined" if one.state == "declined" else "overtaken"
    return f"{one.subject}: {what} ({one.ended_why})."


def with_provider(name: str) -> str:
    """The button where one signs at the company's sign-in."""
    return f"Sign with {name}"


def button(requests: Sequence[Request]) -> str:
    """The button beside the secret."""
    return "Sign" if len(requests) < 2 else f"Sign all {len(requests)}"
