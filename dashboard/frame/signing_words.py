"""What is said of signatures on every screen and on paper."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import Final

from dashboard.frame.words import count, day
from spc.store.people import Request, Signature

TITLE: Final = "Your signature"
CLOSED: Final = "closed without a signature"
LATER: Final = "Close; they sign later"
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


def pending(request: Request) -> str:
    """What was signed by one person, and what is still missing."""
    first = signature(request.signatures[0])
    if request.alone:
        return f"{request.subject}: {request.meaning} by {first}. Nobody has countersigned it yet."
    return (
        f"{request.subject}: to be {request.meaning}, signed by {first}: {request.reason}. It waits"
        " for a second person; until then nothing has changed."
    )


def ended(requests: Sequence[Request]) -> str:
    """Why requests ended without being done."""
    return ", ".join(dict.fromkeys(one.ended_why for one in requests if one.ended_why)) or CLOSED
