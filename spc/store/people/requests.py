"""Requests: what is to be signed, on what evidence, who signed, and where that stands."""

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, Literal

from spc.errors import UnknownName
from spc.store.file.cursors import Cursor, records
from spc.store.people import secret
from spc.store.record import audit

State = Literal["open", "waiting", "complete", "declined", "void"]

# What is signed; the id makes the signature of one thing none of another that reads the same.
_SIGNED: Final = ("request", "deed", "subject", "meaning", "reason", "about", "rests_on", "needs")

# A request ends once; what has ended is neither declined nor made void again.
REQUESTS: Final = """
    select
        signing_request.* exclude (entry),
        coalesce(request_event.what, '')   as ended,
        coalesce(request_event.reason, '') as ended_why,
        coalesce(request_event.name, '')   as ended_by
    from signing_request
    left join request_event using (request)
    where $request in ('', signing_request.request)
      and $subject in ('', signing_request.subject)
    order by signing_request.step
"""

SIGNATURES: Final = """
    select
        signature, request, place, person, provider, name, role, meaning, reason, sha256, way,
        proven_at, one_person, signed_at
    from signature
    where $request in ('', request)
    order by step
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Signature:
    """One signature: a person with name and role as they were then."""

    signature: str
    request: str
    place: int
    person: str
    provider: str
    name: str
    role: str
    meaning: str
    reason: str
    sha256: str
    way: str
    proven_at: datetime
    one_person: bool
    signed_at: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """What is to be signed, and by whom it was.

    Attributes
    ----------
    needs
        How many persons must sign.
    sha256
        Of the text that is signed: all of the above and the request's own id.
    ended, ended_why, ended_by
        Declined or void, for what reason, by whom; empty while neither.
    """

    request: str
    step: int
    deed: str
    subject: str
    meaning: str
    reason: str
    about: Mapping[str, Any]
    rests_on: Mapping[str, Any]
    sha256: str
    needs: int
    asks: str
    asked_by: str
    asked_name: str
    asked_at: datetime
    ended: str
    ended_why: str
    ended_by: str
    signatures: tuple[Signature, ...]

    @property
    def state(self) -> State:
        """Where it stands."""
        if self.ended:
            return "declined" if self.ended == "declined" else "void"
        if len(self.signatures) >= self.needs:
            return "complete"
        return "waiting" if self.signatures else "open"

    @property
    def complete(self) -> bool:
        """Whether everybody who must has signed, so that it is done."""
        return self.state == "complete"

    @property
    def beside(self) -> str:
        """The name of the second person who signed it; empty while there is none."""
        return self.signatures[1].name if len(self.signatures) > 1 else ""

    @property
    def alone(self) -> bool:
        """Whether it was done by one person and still waits for a second one's signature."""
        return self.complete and self.signatures[0].one_person and len(self.signatures) == 1


def digest(request: Request) -> str:
    """SHA-256 of what a person who signs has read."""
    return secret.digest(audit.canonical({name: getattr(request, name) for name in _SIGNED}))


def every(cursor: Cursor, *, subject: str = "") -> tuple[Request, ...]:
    """All requests, or those about one subject, oldest first."""
    return _requests(cursor, request="", subject=subject)


def one(cursor: Cursor, request: str) -> Request:
    """One request with its signatures.

    Raises
    ------
    UnknownName
        If there is no such request.
    """
    found = _requests(cursor, request=request, subject="") if request else ()
    if not found:
        raise UnknownName("request", request, known=[])
    return found[0]


def unfaithful(cursor: Cursor) -> tuple[int, list[tuple[str, str]]]:
    """How many requests there are, and subject and meaning of those that are not what was signed.

    One by one and from their texts, so that a broken one is told and hides no other.
    """
    signed: dict[str, set[str]] = {}
    for row in records(cursor, SIGNATURES, {"request": ""}):
        signed.setdefault(row["request"], set()).add(row["sha256"])
    asked = records(cursor, REQUESTS, {"request": "", "subject": ""})
    found = [
        (row["subject"], row["meaning"])
        for row in asked
        if not signed.get(row["request"], set()) | {_text_digest(row)} <= {row["sha256"]}
    ]
    return len(asked), found


def _text_digest(row: dict[str, Any]) -> str:
    try:
        told = {name: json.loads(row[name]) for name in ("about", "rests_on")}
    except ValueError:
        return ""
    return secret.digest(audit.canonical({name: {**row, **told}[name] for name in _SIGNED}))


def _requests(cursor: Cursor, *, request: str, subject: str) -> tuple[Request, ...]:
    signed: dict[str, list[Signature]] = {}
    for row in records(cursor, SIGNATURES, {"request": request}):
        signed.setdefault(row["request"], []).append(Signature(**row))
    rows = records(cursor, REQUESTS, {"request": request, "subject": subject})
    return tuple(_request(row, signed.get(row["request"], ())) for row in rows)


def _request(row: dict[str, Any], signatures: Sequence[Signature]) -> Request:
    told = {"about": json.loads(row["about"]), "rests_on": json.loads(row["rests_on"])}
    return Request(**{**row, **told}, signatures=tuple(signatures))
