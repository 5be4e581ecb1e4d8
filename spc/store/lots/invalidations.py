"""Results made void by an assignable laboratory cause: they stay, and no longer count."""

from collections.abc import Sequence
from typing import Any, Final

import pandas as pd

from spc.errors import InvalidInput, UnknownName
from spc.store.file.cursors import Cursor, records
from spc.store.people.proofs import Actor
from spc.store.record import audit, rows

ACTION: Final = "invalidated a result"
TOGETHER: Final = "withdrew results"

OF_LOT: Final = """
    select
        invalidation.* exclude (entry),
        result.lot, result.characteristic, result.method, result.sample, result.replicate,
        result.reading_text, result.reading_unit, result.value_low, result.value_high, result.unit
    from invalidation
    join result using (result)
    where result.lot = $lot
    order by invalidation.entry, invalidated_at, result
"""


def of_lot(cursor: Cursor, lot: str) -> pd.DataFrame:
    """The void results of one lot, with their cause and the two persons."""
    return cursor.execute(OF_LOT, {"lot": lot}).df()


def is_void(cursor: Cursor, result: str) -> bool:
    """Whether a result was made void."""
    query = "select 1 from invalidation where result = ?"
    return cursor.execute(query, [result]).fetchone() is not None


def standing(cursor: Cursor, result: str) -> dict[str, Any]:
    """A result that can be made void: its row.

    Raises
    ------
    InvalidInput
        If it is void already.
    UnknownName
        If there is no such result.
    """
    found = records(cursor, "select * from result where result = $result", {"result": result})
    if not found:
        raise UnknownName("result", result, known=[])
    if is_void(cursor, result):
        raise InvalidInput(
            "the result is void already.", where="invalidation", remedy="Nothing is left to do."
        )
    return found[0]


def invalidate(
    cursor: Cursor, result: str, *, cause: str, by: Actor, names: tuple[str, str]
) -> None:
    """Make a result void; it stays in the record and no longer counts.

    Parameters
    ----------
    by
        Who signed last.
    names
        Of the first who signed, and of the second; the second empty where one was alone.

    Raises
    ------
    InvalidInput
        If the cause is missing, or the result is void already.
    UnknownName
        If there is no such result.

    Notes
    -----
    A result is not void because it is unwelcome or outlying: only because of a cause that was
    found in the laboratory (common practice after the FDA's guidance on out-of-specification
    results, May 2022).
    """
    _refuse_uncaused(cause)
    found = standing(cursor, result)
    first, beside = names
    make_void(cursor, [result], cause=cause, by=first, second_person=beside)
    audit.record(
        cursor,
        actor=by.name,
        action=ACTION,
        subject=found["lot"],
        detail={
            "result": result,
            "cause": cause.strip(),
            "second_person": beside,
            "by": by.told(),
        },
    )


def invalidate_together(
    cursor: Cursor,
    results: Sequence[str],
    *,
    subject: str,
    cause: str,
    by: Actor,
    names: tuple[str, str],
) -> None:
    """Make results that share a cause void, under one entry of the audit chain.

    Parameters
    ----------
    results
        All of them stand.
    subject
        What they have in common: a receipt or a sensor batch.
    by, names
        See `invalidate`.

    Raises
    ------
    InvalidInput
        If the cause is missing.
    """
    _refuse_uncaused(cause)
    first, beside = names
    make_void(cursor, results, cause=cause, by=first, second_person=beside)
    audit.record(
        cursor,
        actor=by.name,
        action=TOGETHER,
        subject=subject,
        detail={
            "results": list(results),
            "cause": cause.strip(),
            "second_person": beside,
            "by": by.told(),
        },
    )


def make_void(
    cursor: Cursor, results: Sequence[str], *, cause: str, by: str, second_person: str
) -> None:
    """Let results no longer count; the caller has checked them, and records it."""
    frame = pd.DataFrame({"result": pd.array(list(results), dtype="str")}).assign(
        cause=cause.strip(),
        invalidated_by=by,
        second_person=second_person,
        invalidated_at=audit.moment(cursor),
    )
    rows.append(cursor, "invalidation", frame)


def _refuse_uncaused(cause: str) -> None:
    if not cause.strip():
        raise InvalidInput(
            "an assignable laboratory cause is needed.",
            where="invalidation",
            remedy="Investigate first; without a cause the result stands and is measured again.",
        )
