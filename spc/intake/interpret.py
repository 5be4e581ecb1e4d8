"""A table and a source profile to what it says: lots, results, decisions, and held rows."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from spc.derivation import derive
from spc.errors import UnknownLayout
from spc.intake.catalogue import Catalogue
from spc.intake.checks.holds import Holds
from spc.intake.checks.identity import identities
from spc.intake.checks.impossible import hold_impossible_heat
from spc.intake.checks.spelling import did_you_mean
from spc.intake.decisions import decisions
from spc.intake.distinct import coded_columns, constant, stacked
from spc.intake.lots import lots
from spc.intake.measures import Asked, missing_dilution, readings
from spc.intake.parts_apart import hold_parts_apart
from spc.intake.profiles.profile import SourceProfile
from spc.intake.profiles.selection import hold_unclaimed, selected
from spc.intake.readers import SURPLUS, Table
from spc.intake.table.columns import Known, joined, moment, number, text
from spc.intake.table.contradictions import hold_contradictions
from spc.intake.table.marked import hold_marked
from spc.intake.table.report_lines import hold_furniture

_TEXTS: Final = ("sample", "replicate", "operator", "instrument", "sensor_batch")
_FACTORS: Final = ("extract_volume_mL", "extract_mass_g", "cell_dilution")

RESULT_FACTS: Final = (
    "lot",
    "characteristic",
    "method",
    *_TEXTS,
    "measured_at",
    "reading_text",
    "qualifier",
    "reading",
    "reading_unit",
    "parts",
    *_FACTORS,
    "factors",
    "basis",
    "value_low",
    "value_high",
    "unit",
    "identity",
)


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
        Columns code, reason, remedy, lot, original; none of these rows is in the other frames.
    lot, original
        The lot that every row names, and its cells as they came.
    """

    rows: pd.Index
    lots: pd.DataFrame
    results: pd.DataFrame
    decisions: pd.DataFrame
    held: pd.DataFrame
    lot: pd.Series
    original: pd.DataFrame


def recognise(headers: Sequence[str], profiles: Sequence[SourceProfile]) -> SourceProfile:
    """The profile whose headers a file has all of; the one with the most, if several.

    Raises
    ------
    UnknownLayout
        If no profile fits, with the profile that came nearest and what it lacked.
    """
    fitting = [one for one in profiles if one.headers <= set(headers)]
    if fitting:
        return max(fitting, key=lambda one: (len(one.headers), one.version))
    if not profiles:
        raise UnknownLayout(
            "the store has no source profile yet.",
            remedy="Receive the profile (a TOML file) of this source first.",
        )
    nearest = max(profiles, key=lambda one: len(one.headers & set(headers)) / len(one.headers))
    lacking = sorted(nearest.headers - set(headers))
    raise UnknownLayout(
        f"no source profile fits its columns; the nearest, {nearest.profile!r}, lacks"
        f" {', '.join(repr(name) for name in lacking[:3])}.",
        remedy="Write a source profile for it (see README) or correct the file's header.",
    )


def interpret(table: Table, profile: SourceProfile, known: Known) -> Batch:
    """What a table says by a profile, with a reason for every row that says nothing usable."""
    holds = Holds(table.cells)
    _hold_misshapen(table.cells, holds)
    cells = coded_columns(table.cells, profile.headers)
    lot = joined(cells, profile.columns["lot"])
    hold_furniture(cells, lot, profile, known, holds)
    hold_marked(table.cells, table.marks, profile, holds)
    _hold_without_lot(lot, holds)
    announced = lots(cells, lot, profile, known, holds)
    _hold_unknown_lots(lot, announced, known, holds)
    results = _results(cells, lot, profile, known, holds)
    decided = decisions(cells, lot, profile, known, holds)
    _hold_silent(cells, (announced, results, decided), holds)
    results = _derived(_without(results, holds.rows))
    hold_impossible_heat(results, holds)
    _hold_without_logarithm(results, known.catalogue, holds)
    hold_contradictions(cells, results, profile, holds)
    held = holds.frame(lot)
    return Batch(
        rows=cells.index,
        lots=_without(announced, held.index),
        results=_identified(_without(results, held.index)),
        decisions=_without(decided, held.index),
        held=held,
        lot=lot,
        original=table.cells,
    )


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


def _results(
    cells: pd.DataFrame, lot: pd.Series, profile: SourceProfile, known: Known, holds: Holds
) -> pd.DataFrame:
    """Every reading of every row, one line a reading."""
    if not profile.measures:
        return pd.DataFrame(columns=list(RESULT_FACTS), index=cells.index[:0])
    asked = asked_of(profile, known.catalogue)
    _hold_unclaimed(cells, [one for one in asked if one.measure.where], profile, holds)
    around = _around(cells, lot, profile, known, holds)
    frames = [_measured(cells, around, one, holds) for one in asked]
    return stacked(frames).sort_index(kind="stable")


def _hold_unclaimed(
    cells: pd.DataFrame, asked: Sequence[Asked], profile: SourceProfile, holds: Holds
) -> None:
    """Hold the rows of a long table that report what the profile does not map, or parts of it."""
    if not asked:
        return
    reported = pd.Series(False, index=cells.index)  # noqa: FBT003
    for header in dict.fromkeys(header for one in asked for header in one.measure.read_at):
        reported |= ~cells[header].isin(list(profile.form.missing))
    hold_parts_apart(cells, asked, reported, holds)
    hold_unclaimed(cells, [one.measure.where for one in asked], reported, holds)


def _around(
    cells: pd.DataFrame, lot: pd.Series, profile: SourceProfile, known: Known, holds: Holds
) -> pd.DataFrame:
    """What stands around the readings of each row."""
    around = pd.DataFrame({"lot": lot})
    for meaning in _TEXTS:
        around[meaning] = text(cells, profile.columns, meaning)
    for meaning in _FACTORS:
        around[meaning] = number(text(cells, profile.columns, meaning), meaning, profile, holds)
    measured = text(cells, profile.columns, "measured_at")
    around["measured_at"] = moment(measured, profile, known, holds, what="the time of measurement")
    return around


def asked_of(profile: SourceProfile, catalogue: Catalogue) -> list[Asked]:
    """What each measure of a profile is read as.

    Raises
    ------
    UnknownLayout
        If the catalogue lacks a characteristic or method that the profile names.
    """
    asked = []
    for measure in profile.measures:
        characteristic = catalogue.characteristic(measure.characteristic)
        method = catalogue.method(measure.method, measure.characteristic)
        if characteristic is None or method is None:
            raise UnknownLayout(
                f"profile {profile.profile!r} maps {measure.characteristic} by"
                f" {measure.method}, which the catalogue does not know.",
                remedy="Receive the catalogue that describes this method first.",
            )
        asked.append(
            Asked(measure=measure, characteristic=characteristic, method=method, profile=profile)
        )
    return asked


def _measured(
    cells: pd.DataFrame, around: pd.DataFrame, asked: Asked, holds: Holds
) -> pd.DataFrame:
    if asked.measure.where:
        cells = cells.loc[selected(cells, asked.measure.where), sorted(asked.measure.headers)]
    read = readings(cells, asked, holds)
    measured = np.isin(around.index, read.index)
    frame = pd.concat([around if measured.all() else around[measured], read], axis="columns")
    frame["characteristic"] = constant(asked.characteristic.characteristic, frame.index)
    frame["method"] = constant(asked.method.method, frame.index)
    frame["unit"] = constant(asked.characteristic.unit, frame.index)
    frame["basis"] = constant(asked.measure.basis, frame.index)
    frame["factors"] = constant(_factors_text(asked.method.factors), frame.index)
    missing_dilution(frame, asked, holds)
    return frame


def _factors_text(factors: Mapping[str, float]) -> str:
    inside = ",".join(f'"{name}":{float(factor)!r}' for name, factor in sorted(factors.items()))
    return f"{{{inside}}}"


def _derived(results: pd.DataFrame) -> pd.DataFrame:
    if results.empty:
        return results.reindex(columns=list(RESULT_FACTS))
    values = derive(results)
    # A row may bring several results, so its number does not single one out.
    return results.assign(**{str(end): values[end].to_numpy() for end in values})


def _identified(results: pd.DataFrame) -> pd.DataFrame:
    """With its identity, the longest text of a result by far: only once the held rows are out."""
    if results.empty:
        return results.reindex(columns=list(RESULT_FACTS)).astype({"identity": "str"})
    return results.assign(identity=identities(results))[list(RESULT_FACTS)]
