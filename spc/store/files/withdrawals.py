"""Results withdrawn together, by file or by sensor batch, and what would follow from it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final, Literal

import pandas as pd

from spc.acceptance import LotVerdict
from spc.errors import UnknownName
from spc.store.blends import blend_records, parentage
from spc.store.file.cursors import Cursor
from spc.store.lots import invalidations, judgement, lots
from spc.store.people.proofs import Actor

Kind = Literal["file", "sensor batch"]

# Readings of control samples stay when a sensor batch is withdrawn: they are what speaks against
# it.  A withdrawn file takes its own with it.
STANDING: Final = """
    select current_result.result, current_result.lot, lot.lot is null as is_control
    from current_result
    left join lot using (lot)
    where ($kind = 'file' and current_result.receipt = $name)
       or ($kind = 'sensor batch' and current_result.sensor_batch = $name and lot.lot is not null)
    order by current_result.lot, current_result.result
"""

# A result speaks for its lot, and is one of those that say what is usual for the others of its
# stream; a control sample speaks for every lot that was read by the same batch.  Without a
# specification a lot has no verdict to change.
CONCERNED: Final = """
    with mine as (
        select lot.material, lot.supplier, current_result.*
        from current_result
        left join lot using (lot)
        where list_contains($results, current_result.result)
    )
    select distinct lot.lot
    from lot
    semi join mine on mine.material = lot.material and mine.supplier = lot.supplier
    semi join specification on specification.material = lot.material
    union
    select distinct current_result.lot
    from current_result
    join lot using (lot)
    semi join specification on specification.material = lot.material
    semi join (select * from mine where material is null) as control
      on control.method       = current_result.method
     and control.instrument   = current_result.instrument
     and control.sensor_batch = current_result.sensor_batch
    order by all
"""

PLANNED: Final = ("draft", "approved", "issued")

BATCHES: Final = """
    select sensor_batch, count(*) as results, count(distinct lot) as lots
    from current_result
    semi join lot using (lot)
    where sensor_batch <> ''
    group by sensor_batch
    order by max(measured_at) desc, sensor_batch
"""

FILES: Final = """
    select receipt.receipt, receipt.name, count(*) as results
    from current_result
    join receipt using (receipt)
    group by receipt.receipt, receipt.name, receipt.received_at
    order by receipt.received_at desc, receipt.name desc
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changed:
    """A lot that would be judged otherwise."""

    lot: str
    decision: str
    before: LotVerdict
    after: LotVerdict


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Consequences:
    """What would follow if results were withdrawn.

    Attributes
    ----------
    results, lots
        How many results of how many lots (and control samples) would no longer count.
    judged
        How many lots were judged anew, because a result of theirs or of their streams is concerned.
    changed
        Those of them whose recommendation, a line's outcome or a flag would be another.
    blends
        One line a blend that holds or plans some of a lot that is changed or loses a result, so
        that the blend would be predicted otherwise: lot, blend (name of the lot made, or of the
        recipe), status, share.
    """

    results: int
    lots: int
    judged: int
    changed: tuple[Changed, ...]
    blends: pd.DataFrame


def batches(cursor: Cursor) -> pd.DataFrame:
    """Sensor batches with results of lots that stand, newest first: sensor_batch, results, lots."""
    return cursor.execute(BATCHES).df()


def files(cursor: Cursor) -> pd.DataFrame:
    """Files with results that stand, the last received first: receipt, name, results."""
    return cursor.execute(FILES).df()


def suppose(cursor: Cursor, kind: Kind, name: str) -> Consequences:
    """What would follow if the results of a file or a sensor batch were withdrawn.

    The cursor's transaction has withdrawn them afterwards; the caller rolls it back.

    Raises
    ------
    UnknownName
        If no result of that file or batch stands.
    """
    found = standing(cursor, kind, name)
    results = found["result"].tolist()
    return judged_otherwise(
        cursor,
        results,
        found.loc[~found["is_control"], "lot"].tolist(),
        lambda: invalidations.make_void(
            cursor, results, cause="supposed", by="-", second_person="-"
        ),
        of=found["lot"].nunique(),
    )


def judged_otherwise(
    cursor: Cursor,
    results: Sequence[str],
    own: Sequence[str],
    change: Callable[[], None],
    *,
    of: int = 0,
) -> Consequences:
    """What a change of results does to verdicts and blends; it has been made afterwards.

    Parameters
    ----------
    results
        Those that will no longer count.
    own
        Their lots, without control samples.
    of
        How many lots and control samples; as many as `own` names if not given.
    """
    concerned = [lot for (lot,) in cursor.execute(CONCERNED, {"results": [*results]}).fetchall()]
    before = judgement.verdicts(cursor, concerned)
    change()
    after = judgement.verdicts(cursor, concerned)
    told = lots.several(cursor, concerned)
    changed = tuple(
        Changed(lot=lot, decision=told[lot].decision, before=before[lot], after=after[lot])
        for lot in concerned
        if _said(before[lot]) != _said(after[lot])
    )
    return Consequences(
        results=len(results),
        lots=of or len(set(own)),
        judged=len(concerned),
        changed=changed,
        blends=_blends(cursor, sorted({one.lot for one in changed}.union(own))),
    )


def withdraw(
    cursor: Cursor, kind: Kind, name: str, *, cause: str, by: Actor, names: tuple[str, str]
) -> int:
    """Make every result of a file or a sensor batch void; returns how many.

    Parameters
    ----------
    by, names
        See `invalidations.invalidate`.

    Raises
    ------
    InvalidInput
        If the cause is missing.
    UnknownName
        If no result of that file or batch stands.
    """
    results = standing(cursor, kind, name)["result"].tolist()
    invalidations.invalidate_together(
        cursor,
        results,
        subject=name,
        cause=cause,
        by=by,
        names=names,
    )
    return len(results)


def standing(cursor: Cursor, kind: Kind, name: str) -> pd.DataFrame:
    """The results of a file or a sensor batch that stand: result, lot, is_control.

    Raises
    ------
    UnknownName
        If none does.
    """
    found = cursor.execute(STANDING, {"kind": kind, "name": name}).df()
    if found.empty:
        raise UnknownName(f"standing result of {kind}", name, known=[])
    return found


def _said(judged: LotVerdict) -> tuple[object, ...]:
    """What of a verdict is a statement, not a number."""
    return (
        judged.recommendation,
        [(one.line.characteristic, one.line.basis, one.outcome) for one in judged.lines],
        sorted({flag.name for flag in judged.flags}),
    )


def _blends(cursor: Cursor, wanted: Sequence[str]) -> pd.DataFrame:
    made = [
        (lot, one["lot"], "made", one["share"])
        for lot in wanted
        for one in parentage.trace(cursor, lot).to_dict("records")
    ]
    every = blend_records.every(cursor)
    planned = every[every["status"].isin(PLANNED)].set_index("blend")["status"]
    portions = blend_records.portions(cursor, planned.index.tolist())
    mine = portions[portions["lot"].isin(list(wanted))]
    ahead = [
        (one["lot"], one["name"], planned[one["blend"]], one["share"])
        for one in mine.to_dict("records")
    ]
    return pd.DataFrame([*made, *ahead], columns=["lot", "blend", "status", "share"])
