"""What the administrator set for the house; each setting is signed, and the last one counts."""

import json
import uuid
from collections.abc import Callable, Mapping
from datetime import date, datetime
from types import MappingProxyType
from typing import Any, Final

from spc.errors import RegisterRefused
from spc.store.file.cursors import Cursor
from spc.store.people.permissions import ALWAYS_TWO, DEEDS, ROLES, TWO_BY_DEFAULT, permit
from spc.store.people.proofs import Actor
from spc.store.people.signed import refuse_unsigned
from spc.store.record import ledger

NEEDS_TWO: Final = "needs two persons"
GROUPS: Final = "roles of the provider's groups"
CUT_OVER: Final = "cut-over date"
STANDS_STILL: Final = "day it stands still at"

LATEST: Final = "select value from house_rule where name = $name order by step desc limit 1"


def two_persons(cursor: Cursor) -> frozenset[str]:
    """The deeds that need a second person here."""
    told = _value(cursor, NEEDS_TWO)
    return TWO_BY_DEFAULT if told is None else ALWAYS_TWO | frozenset(told)


def groups(cursor: Cursor) -> Mapping[str, Mapping[str, str]]:
    """By issuer, the role of each of its groups; an issuer that is not in it tells no roles."""
    return _value(cursor, GROUPS) or {}


def cut_over(cursor: Cursor) -> date | None:
    """The first day of this store; decisions before it may come in as history."""
    told = _value(cursor, CUT_OVER)
    return None if told is None else date.fromisoformat(told)


def stands_still(cursor: Cursor) -> date | None:
    """The day that a store for trying things out stands still at; None if it goes by the clock."""
    told = _value(cursor, STANDS_STILL)
    return date.fromisoformat(told) if told else None


def put(
    cursor: Cursor, actor: Actor, name: str, value: object, *, reason: str, at: datetime
) -> None:
    """Set a house rule.

    Parameters
    ----------
    value
        Of `NEEDS_TWO` a list of deeds; of `GROUPS` issuers with their groups and the role of each;
        of `CUT_OVER` an ISO date; of `STANDS_STILL` one, or an empty text to go by the clock again.

    Raises
    ------
    NotAllowed
        If the actor is no administrator.
    RegisterRefused
        If there is no such rule, or it cannot be set to this.
    """
    permit(actor, "set the cut-over date" if name == CUT_OVER else "set house rules")
    refuse_unsigned(actor, where=name)
    wrong = _CHECKS[name](value) if name in _CHECKS else f"there is no house rule {name!r}"
    if wrong:
        raise RegisterRefused(
            f"{wrong}.", where="house rule", remedy=f"Set one of: {', '.join(sorted(_CHECKS))}."
        )
    row = {
        "rule": str(uuid.uuid4()),
        "step": ledger.next_step(cursor, "house_rule"),
        "name": name,
        "value": json.dumps(value, sort_keys=True),
        "reason": reason.strip(),
        "signed_by": actor.person,
        "signed_at": at,
    }
    ledger.post(
        cursor,
        {"house_rule": [row]},
        actor=actor.name,
        action="set a house rule",
        subject=name,
        more={"by": actor.told()},
    )


def _value(cursor: Cursor, name: str) -> Any:
    row = cursor.execute(LATEST, {"name": name}).fetchone()
    return json.loads(row[0]) if row else None


def _no_deeds(value: object) -> str:
    if not isinstance(value, list) or not set(value) <= set(DEEDS):
        return f"{value!r} is no list of deeds"
    return ""


def _no_groups(value: object) -> str:
    issuers = value.values() if isinstance(value, dict) else [None]
    for named in issuers:
        if not isinstance(named, dict) or not set(named.values()) <= set(ROLES):
            return f"{value!r} does not give the groups of each issuer a role"
    return ""


def _no_date(value: object) -> str:
    try:
        date.fromisoformat(str(value))
    except ValueError:
        return f"{value!r} is no date such as 2027-01-31"
    return ""


def _no_day(value: object) -> str:
    return "" if value == "" else _no_date(value)


_CHECKS: Final[Mapping[str, Callable[[object], str]]] = MappingProxyType(
    {NEEDS_TWO: _no_deeds, GROUPS: _no_groups, CUT_OVER: _no_date, STANDS_STILL: _no_day}
)
