"""Sessions: a random key in the browser, its digest here; outside the audit chain, and they end."""

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final

import pandas as pd

from spc.store.file.cursors import Cursor, records
from spc.store.people import secret

IDLE: Final = timedelta(minutes=30)
LONGEST: Final = timedelta(hours=12)

# So that looking at a screen is not a write each time; a session may end that much too early.
SEEN_EVERY: Final = timedelta(minutes=5)

OPEN: Final = """
    insert into session
    values ($session, $person, $way, $opened_at, $opened_at, null, null)
"""

STANDING: Final = """
    select session, person, way, opened_at, seen_at, signed_at
    from session
    where session = $session and ended_at is null
"""

OF_PERSON: Final = """
    select session, way, opened_at, seen_at
    from session
    where person = $person and ended_at is null and seen_at > $since and opened_at > $longest
    order by opened_at
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Session:
    """A session that still holds.

    Attributes
    ----------
    signed_at
        When its person first signed something in it; the name is asked for only then.
    """

    session: str
    person: str
    way: str
    opened_at: datetime
    seen_at: datetime
    signed_at: datetime | None


def start(cursor: Cursor, person: str, *, key: str, way: str, at: datetime) -> None:
    """Open a session of a person who has just proven who they are."""
    opened = {"session": secret.digest(key), "person": person, "way": way, "opened_at": at}
    cursor.execute(OPEN, opened)


def standing(cursor: Cursor, session: str, *, at: datetime) -> Session | None:
    """A session by the digest of its key; None if it ended, was idle too long or is too old."""
    rows = records(cursor, STANDING, {"session": session})
    if not rows:
        return None
    found = Session(**rows[0])
    idle, age = at - found.seen_at, at - found.opened_at
    return found if idle < IDLE and age < LONGEST else None


def of_person(cursor: Cursor, person: str, *, at: datetime) -> pd.DataFrame:
    """Sessions of a person that still hold: session, way, opened_at, seen_at."""
    given = {"person": person, "since": at - IDLE, "longest": at - LONGEST}
    return cursor.execute(OF_PERSON, given).df()


def due(seen_at: datetime | None, *, at: datetime) -> bool:
    """Whether it is time to write down that a session was used."""
    return seen_at is not None and at - seen_at >= SEEN_EVERY


def seen(cursor: Cursor, session: str, *, at: datetime) -> None:
    """Note that a session was used, so that it does not end as idle."""
    cursor.execute(
        "update session set seen_at = greatest(seen_at, $at) where session = $session",
        {"session": session, "at": at},
    )


def signed(cursor: Cursor, session: str, *, at: datetime) -> None:
    """Note that name and secret were given for a signature in a session."""
    cursor.execute(
        "update session set signed_at = coalesce(signed_at, $at) where session = $session",
        {"session": session, "at": at},
    )


def end(cursor: Cursor, session: str, *, at: datetime) -> None:
    """End a session, by the digest of its key; one that is not there is left alone."""
    cursor.execute(
        "update session set ended_at = coalesce(ended_at, $at) where session = $session",
        {"session": session, "at": at},
    )


def end_all(cursor: Cursor, person: str, *, at: datetime) -> None:
    """End every session of a person."""
    cursor.execute(
        "update session set ended_at = coalesce(ended_at, $at) where person = $person",
        {"person": person, "at": at},
    )
