"""The register of people: who is in it, what they may do, and how they sign in."""

import json
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final, Literal

from spc.errors import UnknownName
from spc.store.file.cursors import Cursor, records
from spc.store.people import names
from spc.store.people.permissions import ADMINISTRATOR

# Plain selects, of which the last row counts: one query that picks the last of each and joins them
# costs ten times as much, and every click asks who is there.
EVENTS: Final = """
    select person, what, name, sign_in, roles, email, provider, happened_at
    from person_event
    where $person in ('', person)
    order by step
"""

ACCOUNTS: Final = """
    select account.person, account.way, sign_in_count.locked_until
    from account
    left join sign_in_count using (person)
    where $person in ('', account.person)
    order by account.step
"""

HASH: Final = """
    select coalesce(account_secret.encoded, '')
    from account
    left join account_secret using (account)
    where account.person = $person
    order by account.step desc
    limit 1
"""

HISTORY: Final = """
    select step, what, name, sign_in, roles, email, provider, reason, signed_by, happened_at
    from person_event
    where person = $person
    order by step
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody in the register.

    Attributes
    ----------
    person
        Their id, which never changes; name and sign-in name may.
    provider
        ``iss#sub``; empty if no provider knows them.
    state
        Invited until the first account is opened; ended for good or until invited again.
    way
        How they sign in: ``secret``, ``provider``, or empty while they cannot.
    """

    person: str
    name: str
    sign_in: str
    roles: tuple[str, ...]
    email: str = ""
    provider: str = ""
    state: Literal["invited", "active", "ended"] = "invited"
    way: str = ""
    locked_until: datetime | None = None
    since: datetime | None = None

    @property
    def is_administrator(self) -> bool:
        """Whether they can sign in and administer."""
        return self.state == "active" and ADMINISTRATOR in self.roles


def people(cursor: Cursor) -> tuple[Person, ...]:
    """Everybody in the register, by name, also those who left."""
    return tuple(sorted(_people(cursor, ""), key=lambda one: (one.name, one.person)))


def person(cursor: Cursor, named: str) -> Person:
    """Somebody by id or by sign-in name.

    Raises
    ------
    UnknownName
        If nobody of the register is called that.
    """
    everybody = people(cursor)
    wanted = names.as_typed(named)
    found = [one for one in everybody if one.person == named or one.sign_in == wanted]
    if not found:
        raise UnknownName("person", named, known=[one.sign_in for one in everybody])
    return found[0]


def known_by_id(cursor: Cursor, person: str) -> Person | None:
    """Somebody by id, or None."""
    return next(iter(_people(cursor, person)), None) if person else None


def encoded(cursor: Cursor, person: str) -> str:
    """The hash of a person's secret; empty if they do not sign in by one."""
    row = cursor.execute(HASH, {"person": person}).fetchone()
    return str(row[0]) if row else ""


def one_person(cursor: Cursor) -> bool:
    """Whether no more than one person is registered, so that nobody can sign beside them."""
    return sum(one.state != "ended" for one in people(cursor)) <= 1


def history(cursor: Cursor, person: str) -> list[dict[str, Any]]:
    """What happened to a person's entry, oldest first."""
    return records(cursor, HISTORY, {"person": person})


def ever_opened(cursor: Cursor) -> bool:
    """Whether anybody has ever had an account here."""
    return cursor.execute("select 1 from account limit 1").fetchone() is not None


def _people(cursor: Cursor, person: str) -> list[Person]:
    given = {"person": person}
    latest = {row["person"]: row for row in records(cursor, EVENTS, given)}
    opened = {one: account for one, *account in cursor.execute(ACCOUNTS, given).fetchall()}
    return [_person(row, *opened.get(one, ("", None))) for one, row in latest.items()]


def _person(row: dict[str, Any], way: str, locked_until: datetime | None) -> Person:
    opened = way not in {"", "closed"}
    return Person(
        person=row["person"],
        name=row["name"],
        sign_in=row["sign_in"],
        roles=tuple(json.loads(row["roles"])),
        email=row["email"],
        provider=row["provider"],
        state="ended" if row["what"] == "ended" else "active" if opened else "invited",
        way=way if opened else "",
        locked_until=locked_until,
        since=row["happened_at"],
    )
