"""What is said of people, sessions, tokens and rules."""

from collections.abc import Sequence
from typing import Final

from dashboard.frame.words import count, joined
from spc.store.people import Actor, Entry, Grant, Person

REASON: Final = "Why; stands in the record"
CODE_ONCE: Final = (
    "Hand this link to {name} yourself. It is shown only now, opens one account once, and holds 72"
    " hours."
)
TOKEN_ONCE: Final = "This is the token of {name}. It is shown only now."  # noqa: S105
HAND_OVER: Final = "To hand over"
PASSED_ON: Final = "I have passed it on"
NO_SENDER: Final = "No program has a token."
CUT_OVER: Final = (
    "Decisions signed before this day may come in from files as history, marked as such."
)
NO_CUT_OVER: Final = "No day is set: every decision counts as made in this store."
ALWAYS: Final = "Always two persons, whatever is set"
ALONE_FIRST: Final = (
    "Nobody is registered: you act as the computer's user, no secret is asked, and nothing that"
    " needs two persons can be done. Invite yourself first, as an administrator; once that account"
    " is open, everybody signs in."
)


def people(everybody: Sequence[Person], me: Actor) -> str:
    """Who is in the register, in a sentence."""
    if me.way == "system user":
        return ALONE_FIRST
    active = [one for one in everybody if one.state == "active"]
    invited = sum(one.state == "invited" for one in everybody)
    waiting = f", {count(invited, 'person', 'people')} invited" if invited else ""
    return f"{count(len(active), 'person', 'people')} can sign in{waiting}."


def you(me: Actor) -> str:
    """Who looks at the page, and what they are here."""
    return f"{me.name}: {joined(me.roles) if me.roles else 'no role'}. You sign in as {me.sign_in}."


def sessions(number: int) -> str:
    """How many browsers somebody is signed in with."""
    return f"You are signed in with {count(number, 'browser')}."


def entry(one: Entry) -> list[tuple[str, str]]:
    """What an administrator says of a person, as it is signed."""
    told = [
        ("name", one.name),
        ("signs in as", one.sign_in),
        ("roles", joined(one.roles) if one.roles else None),
        ("e-mail", one.email),
        ("at the provider", one.provider),
    ]
    return [(name, text) for name, text in told if text]


def grant(one: Grant) -> list[tuple[str, str]]:
    """What a program is let in for, as it is signed."""
    return [("for", joined(one.scope)), ("until", f"{one.until:%-d %B %Y}")]


def named(one: Person) -> str:
    """A person in a list to choose from."""
    return f"{one.name} ({one.sign_in})"
