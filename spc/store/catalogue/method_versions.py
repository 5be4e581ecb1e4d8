"""Versions of a method: what was stated of it, in whose file, and which of them is in force.

The first version of a method is in force as it comes in, for nothing could be measured by it
before; every later one is a proposal until somebody adopts it.
"""

import json
from collections.abc import Sequence
from typing import Any, Final

import pandas as pd

from spc.intake.methods import MeasuringMethod, MethodVersion
from spc.store.catalogue import turned_down
from spc.store.catalogue.approvals import key_of
from spc.store.file.cursors import Cursor, records
from spc.store.record import rows

EVERY: Final = """
    select
        method.* exclude (receipt, proposed_by, entry),
        receipt.receipt,
        receipt.name as file,
        receipt.bytes as content,
        receipt.received_by,
        receipt.received_at,
        case
            when approval.version is not null    then 'adopted'
            when turned_down.version is not null then 'turned down'
            when method.version = 1              then 'the first'
            else                                      'waits'
        end as standing_of_version
    from method
    join receipt using (receipt)
    left join approval    on approval.kind       = 'method'
                         and approval.name       = concat_ws(' | ', method.method, characteristic)
                         and approval.version    = method.version
    left join turned_down on turned_down.kind    = 'method'
                         and turned_down.name    = concat_ws(' | ', method.method, characteristic)
                         and turned_down.version = method.version
    where method.characteristic = $characteristic
      and method.method         = $method
    order by method.version
"""


IN_FORCE: Final = """
    select method.*
    from method
    left join approval on approval.kind    = 'method'
                      and approval.name    = concat_ws(' | ', method.method, characteristic)
                      and approval.version = method.version
    where method.version = 1
       or approval.version is not null
    qualify row_number() over (
        partition by method.method, characteristic order by method.version desc
    ) = 1
    order by method.method, characteristic
"""

STATED: Final = """
    select method.*, coalesce(received_at, timestamp '1970-01-01')::date as received_on
    from method
    left join receipt using (receipt)
    order by method.method, characteristic, version
"""

_FACTS: Final = (
    "standing",
    "screening",
    "uncertainty_kind",
    "standard_uncertainty",
    "repeatability",
    "bias",
    "reading_unit",
    "quantification_limit",
    "range_upper",
    "dilution_lowest",
    "dilution_highest",
)


def in_force(cursor: Cursor) -> tuple[MeasuringMethod, ...]:
    """What results that are received now are measured by."""
    return tuple(method_of(row) for row in records(cursor, IN_FORCE))


def numbers_in_force(cursor: Cursor) -> dict[tuple[str, str], int]:
    """The version in force by method and characteristic."""
    return {
        (row["method"], row["characteristic"]): row["version"] for row in records(cursor, IN_FORCE)
    }


def stated(cursor: Cursor) -> tuple[MethodVersion, ...]:
    """Every version that was received, whatever became of it."""
    return tuple(
        MethodVersion(
            stated=method_of(row), version=row["version"], effective_from=row["received_on"]
        )
        for row in records(cursor, STATED)
    )


def save(cursor: Cursor, said: Sequence[MeasuringMethod], *, receipt: str, by: str) -> int:
    """Keep figures that are new: of an unknown method in force, else as a proposal; how many.

    Parameters
    ----------
    by
        Id of the person who brings them.
    """
    counts = numbers_in_force(cursor)
    down = turned_down.keys(cursor)
    kept = stated(cursor)
    fresh = 0
    for one in said:
        named = (one.method, one.characteristic)
        mine = [each for each in kept if (each.method, each.characteristic) == named]
        if any(
            each.stated == one and each.version >= counts[named] and key_of(each) not in down
            for each in mine
        ):
            continue
        row = {
            "method": one.method,
            "characteristic": one.characteristic,
            "version": 1 + max((each.version for each in mine), default=0),
            **{name: getattr(one, name) for name in _FACTS},
            "factors": json.dumps(dict(one.factors), sort_keys=True),
            "receipt": receipt,
            "proposed_by": by,
        }
        rows.insert(cursor, "method", [row])
        fresh += 1
    return fresh


def method_of(row: dict[str, Any]) -> MeasuringMethod:
    """A method from its row."""
    return MeasuringMethod(
        method=row["method"],
        characteristic=row["characteristic"],
        factors=json.loads(row["factors"]),
        **{name: row[name] for name in _FACTS},
    )


def every(cursor: Cursor, *, characteristic: str, method: str) -> pd.DataFrame:
    """Every version of how one method measures one characteristic, oldest first.

    Returns
    -------
    DataFrame
        The columns of `MeasuringMethod` with version; receipt, file, content (the bytes that
        brought it), received_by and received_at; standing_of_version: the first, adopted, waits
        or turned down.
    """
    return cursor.execute(EVERY, {"characteristic": characteristic, "method": method}).df()
