"""A table and a source profile to what it says: lots, results, decisions, and held rows."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from spc.intake.catalogue import Catalogue
from spc.intake.checks.alarms import COLUMNS as ALARM_FACTS
from spc.intake.checks.alarms import alarms
from spc.intake.checks.holds import Holds
from spc.intake.checks.impossible import hold_impossible_heat
from spc.intake.checks.plausible import compared, hold_implausible
from spc.intake.checks.spelling import did_you_mean
from spc.intake.decisions import DECISION_FACTS, decisions
from spc.intake.distinct import coded_columns, decoded
from spc.intake.lots import LOT_FACTS, lots
from spc.intake.profiles.profile import DATES, SourceProfile
from spc.intake.readers import SURPLUS, Table
from spc.intake.results import RESULT_FACTS, derived, identified, results_of
from spc.intake.shapes.report_lines import hold_furniture
from spc.intake.shapes.unit_rows import hold_other_units, unit_row
from spc.intake.table.columns import Known, joined
from spc.intake.table.contradictions import hold_contradictions
from spc.intake.table.date_doubts import date_doubt
from spc.intake.table.extents import hold_beyond_extent
from spc.intake.table.marked import hold_marked
from spc.intake.table.names import hold_odd_names


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Batch:
    """What the rows of one file say; every frame is indexed by source row.

    Attributes
    ----------
    rows : shape (rows,)
        Every row of the file.
    lots, results, decisions
        Columns `LOT_FACTS`, `RESULT_FACTS`, `DECISION_FACTS`; a row may bring several results.
    held
        Columns code, reason, remedy, lot, original; none of these rows is in the frames above.
    alarms
        Columns lot, characteristic, sentence: what any row says against the safety of a lot.
    lot, original
        The lot that every row names, and its cells as they came, one frame a table.
    """

    rows: pd.Index
    lots: pd.DataFrame
    results: pd.DataFrame
    decisions: pd.DataFrame
    held: pd.DataFrame
    alarms: pd.DataFrame
    lot: pd.Series
    original: tuple[pd.DataFrame, ...]


def interpret(table: Table, profile: SourceProfile, known: Known) -> Batch:
    """What a table says by a profile, with a reason for every row that says nothing usable."""
    table, stated = unit_row(table)
    holds = Holds(table.cells, known.confirmed)
    _hold_misshapen(table.cells, holds)
    cells = coded_columns(table.cells, profile.headers)
    known = replace(known, doubt=date_doubt(_dates(cells, profile), profile.form, now=known.now))
    lot = joined(cells, profile.columns["lot"])
    hold_odd_names(cells, profile, holds)
    hold_furniture(table.cells, lot, profile, known, holds)
    hold_marked(table.cells, table.marks, profile, holds)
    _hold_without_lot(lot, holds)
    hold_other_units(cells, stated, profile, holds)
    announced = lots(cells, lot, profile, known, holds)
    _hold_unknown_lots(lot, announced, known, holds)
    said = results_of(cells, lot, profile, known, holds)
    against = alarms(said, known.catalogue.specifications, known.usual, announced)
    decided = decisions(cells, lot, profile, known, holds)
    _hold_silent(cells, (announced, said, decided), holds)
    results = derived(_without(said, holds.rows))
    _hold_doubtful(cells, results, announced, (profile, known), holds)
    held = holds.frame(lot)
    return Batch(
        rows=cells.index,
        lots=_without(announced, held.index),
        results=identified(_without(results, held.index)),
        decisions=_without(decided, held.index),
        held=held,
        alarms=against,
        lot=lot,
        original=(table.cells,),
    )


def unread(table: Table, reason: str) -> Batch:
    """A table that no profile reads: every row of it is held."""
    holds = Holds(table.cells)
    every = pd.Series(data=True, index=table.cells.index)
    holds.add(
        every,
        "other-table",
        reason=reason,
        remedy="Receive a source profile for that table and check the file again, or ask its source"
        " for a file of its own; dismiss the rows if they are not to be kept.",
    )
    lot = pd.Series("", index=table.cells.index, dtype="str")
    return Batch(
        rows=table.cells.index,
        lots=pd.DataFrame(columns=list(LOT_FACTS), index=table.cells.index[:0]),
        results=pd.DataFrame(columns=list(RESULT_FACTS), index=table.cells.index[:0]),
        decisions=pd.DataFrame(columns=list(DECISION_FACTS), index=table.cells.index[:0]),
        held=holds.frame(lot),
        alarms=pd.DataFrame(columns=list(ALARM_FACTS), index=table.cells.index[:0], dtype="str"),
        lot=lot,
        original=(table.cells,),
    )


def together(batches: Sequence[Batch]) -> Batch:
    """What the tables of one file say, as one."""
    if len(batches) == 1:
        return batches[0]
    return Batch(
        rows=pd.Index(np.concatenate([one.rows for one in batches]), name="source_row"),
        lots=_below(one.lots for one in batches),
        results=_below(one.results for one in batches),
        decisions=_below(one.decisions for one in batches),
        held=_below(one.held for one in batches),
        alarms=_below(one.alarms for one in batches),
        lot=pd.concat([one.lot.astype("str") for one in batches]),
        original=tuple(frame for one in batches for frame in one.original),
    )


def _below(frames: Iterable[pd.DataFrame]) -> pd.DataFrame:
    every = [decoded(frame) for frame in frames]
    said = [frame for frame in every if not frame.empty]
    return pd.concat(said) if said else every[0]


def _dates(cells: pd.DataFrame, profile: SourceProfile) -> list[pd.Series]:
    """Every column of dates that a profile reads."""
    groups = (profile.columns, profile.lots, profile.decisions)
    return [
        joined(cells, group[meaning]) for group in groups for meaning in DATES if meaning in group
    ]


def _hold_doubtful(
    cells: pd.DataFrame,
    results: pd.DataFrame,
    announced: pd.DataFrame,
    asked: tuple[SourceProfile, Known],
    holds: Holds,
) -> None:
    """Hold the rows whose values cannot be, contradict each other, or were never seen before."""
    profile, known = asked
    hold_impossible_heat(results, holds)
    hold_beyond_extent(results, known.catalogue, holds)
    _hold_without_logarithm(results, known.catalogue, holds)
    hold_contradictions(cells, results, profile, holds)
    hold_implausible(results, compared(results, known.usual, announced), holds)


def _without(frame: pd.DataFrame, rows: pd.Index) -> pd.DataFrame:
    gone = np.isin(frame.index, rows)
    return frame[~gone] if gone.any() else frame


def _hold_misshapen(cells: pd.DataFrame, holds: Holds) -> None:
    holds.add(
        cells[SURPLUS] != "",
        "too-many-cells",
        about=cells[SURPLUS],
        reason=lambda surplus: f"The row has more cells than the header: {surplus!r}.",
        remedy="Look for a stray separator in the row, and mend on Intake every column that it"
        " shifted and the surplus, which then is nothing.",
    )


def _hold_without_lot(lot: pd.Series, holds: Holds) -> None:
    holds.add(
        lot == "",
        "no-lot",
        reason="The row names no lot.",
        remedy="Find out whose it is; dismiss the row if it belongs to no lot.",
    )


def _hold_unknown_lots(lot: pd.Series, announced: pd.DataFrame, known: Known, holds: Holds) -> None:
    every = [*known.lots, *announced["lot"]]
    holds.add(
        ~lot.isin(every),
        "unknown-lot",
        about=lot,
        reason=lambda name: f"Lot {name!r} is not in the store.",
        remedy=_announcing(every, known.awaited),
    )


def _announcing(every: Sequence[str], awaited: Mapping[str, str]) -> Callable[[str], str]:
    """What to do about a lot that is not known: where it is announced, or how it may be spelled."""
    spelled = did_you_mean(
        every, otherwise="Receive the file that announces the lot, then check this file again."
    )

    def told(name: str) -> str:
        if name in awaited:
            return (
                f"A row of {awaited[name]} names it and waits itself: mend that one on Intake, then"
                " check all of them again."
            )
        return spelled(name)

    return told


def _hold_silent(cells: pd.DataFrame, said: Sequence[pd.DataFrame], holds: Holds) -> None:
    silent = pd.Series(True, index=cells.index)  # noqa: FBT003
    for frame in said:
        silent &= ~np.isin(cells.index, frame.index)
    holds.add(
        silent,
        "nothing-measured",
        reason="The row reports nothing that the profile maps.",
        remedy="Dismiss it if nothing was measured; otherwise correct the cells on Intake.",
    )


def _hold_without_logarithm(results: pd.DataFrame, catalogue: Catalogue, holds: Holds) -> None:
    """A zero that is judged in logarithms would stop every chart it is part of."""
    logs = [one.characteristic for one in catalogue.characteristics if one.scale == "log"]
    zero = results[results["characteristic"].isin(logs) & (results["value_high"] <= 0.0)]
    names = zero["characteristic"].astype("str").groupby(level=0).agg(", ".join)
    holds.add(
        names != "",
        "zero-on-log-scale",
        about=names,
        reason=lambda zeros: f"The row says that {zeros} is zero, which no method can find.",
        remedy="Have it written as '<' and the quantification limit, or give the method its"
        " quantification_limit in the catalogue.",
    )
