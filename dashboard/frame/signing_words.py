"""What is said of signatures on every screen and on paper."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Final

from dashboard.frame.words import count, day
from spc.store.people import Request, Signature

TITLE: Final = "Your signature"
CLOSED: Final = "closed without a signature"
LATER: Final = "Close; they sign later"
DECLINE: Final = "Decline…"
TAKE_BACK: Final = "Take back…"
WHY_NOT: Final = "Why not; stands in the record"
SHOW_NEW: Final = "Close, and see what is new"

_WAYS: Final[Mapping[str, str]] = {
    "secret": "by secret",
    "provider": "by a fresh sign-in at the company's provider",
    "system user": "as the computer's user, no secret",
}


def moment(at: datetime) -> str:
    """A time with its zone: ``"30 November 2026, 20:41 UTC"``."""
    return f"{day(at)}, {at:%H:%M} UTC"


def way(name: str) -> str:
    """How it is known who signed."""
    return _WAYS.get(name, name)


def signature(one: Signature) -> str:
    """Who signed, in which role, when, how that is known, and whether nobody stood beside them."""
    alone = ", one person" if one.one_person else ""
    return f"{one.name}, {one.role}, {moment(one.signed_at)}, {way(one.way)}{alone}"


def told(requests: Sequence[Request]) -> str:
    """What became of requests, in one sentence."""
    subjects = ", ".join(one.subject for one in requests)
    meaning = requests[0].meaning
    who = " and ".join(dict.fromkeys(one.name for one in requests[0].signatures))
    if all(one.complete for one in requests):
        many = f" ({count(len(requests), 'record')})" if len(requests) > 1 else ""
        return f"Signed by {who}: {meaning}, {subjects}{many}."
    if any(one.state == "waiting" for one in requests):
        return (
            f"Signed by {who}: {meaning}, {subjects}. It waits for a second person; until then"
            " nothing has changed."
        )
    return f"Nothing was signed: {ended(requests)}."


def ended(requests: Sequence[Request]) -> str:
    """Why requests ended without being done."""
    return ", ".join(dict.fromkeys(one.ended_why for one in requests if one.ended_why)) or CLOSED


def waiting(one: Request) -> str:
    """What a request that waits is about, and whom it waits for."""
    if one.complete:
        return f"{one.meaning}: done by one person, and to be countersigned."
    return f"{one.meaning}: {one.signatures[0].name} asks for a second signature."


def sign(one: Request) -> str:
    """The button that opens a request."""
    return "Countersign…" if one.complete else "Sign…"


def declined(one: Request) -> str:
    """What is said once a request was declined or taken back."""
    return f"{one.meaning.capitalize()}, {one.subject}: declined. Nothing has changed."
