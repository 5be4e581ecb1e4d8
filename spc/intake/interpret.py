"""A table and a source profile to what it says: lots, results, decisions, and held rows."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import pandas as pd

from spc.derivation import derive
from spc.errors import UnknownLayout
from spc.intake.catalogue import Catalogue
from spc.intake.columns import Known, glued, joined, moment, number, text
from spc.intake.contradictions import hold_contradictions
from spc.intake.decisions import decisions
from spc.intake.holds import Holds, did_you_mean
from spc.intake.lots import lots
from spc.intake.measures import Asked, missing_dilution, readings
from spc.intake.profile import SourceProfile
from spc.intake.readers import SURPLUS, Table

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
    cells = table.cells
    holds = Holds(cells)
    _hold_misshapen(cells, holds)
    lot = joined(cells, profile.columns["lot"])
    _hold_without_lot(lot, holds)
    announced = lots(cells, lot, profile, known, holds)
    _hold_unknown_lots(lot, announced, known, holds)
    results = _results(cells, lot, profile, known, holds)
    decided = decisions(cells, lot, profile, known, holds)
    said = announced.index.union(results.index).union(decided.index)
    holds.add(
        ~cells.index.to_series().isin(said),
        "nothing-measured",
        reason=lambda _row: "The row reports nothing that the profile maps.",
        remedy="Dismiss it if nothing was measured; otherwise correct the file.",
    )
    results = _derived(results[~results.index.isin(holds.rows)])
    _hold_without_logarithm(results, known.catalogue, holds)
    hold_contradictions(cells, results, profile, holds)
    held = holds.frame(lot)
    return Batch(
        rows=cells.index,
        lots=announced[~announced.index.isin(held.index)],
        results=results[~results.index.isin(held.index)],
        decisions=decided[~decided.index.isin(held.index)],
        held=held,
        lot=lot,
        original=cells,
    )


def _hold_misshapen(cells: pd.DataFrame, holds: Holds) -> None:
    holds.add(
        cells[SURPLUS] != "",
        "too-many-cells",
        reason=lambda row: f"The row has more cells than the header: {cells.loc[row, SURPLUS]!r}.",
        remedy="Look for a stray separator in the row and correct the file.",
    )


def _hold_without_lot(lot: pd.Series, holds: Holds) -> None:
    holds.add(
        lot == "",
        "no-lot",
        reason=lambda _row: "The row names no lot.",
        remedy="Find out whose it is; dismiss the row if it belongs to no lot.",
    )


def _hold_unknown_lots(lot: pd.Series, announced: pd.DataFrame, known: Known, holds: Holds) -> None:
    every = [*known.lots, *announced["lot"]]
    holds.add(
        ~lot.isin(every),
        "unknown-lot",
        reason=lambda row: f"Lot {lot[row]!r} is not in the store.",
        remedy=lambda row: did_you_mean(
            lot[row],
            every,
            otherwise="Receive the file that announces the lot, then check this file again.",
        ),
    )


def _hold_without_logarithm(results: pd.DataFrame, catalogue: Catalogue, holds: Holds) -> None:
    """A zero that is judged in logarithms would stop every chart it is part of."""
    logs = [one.characteristic for one in catalogue.characteristics if one.scale == "log"]
    zero = results["characteristic"].isin(logs) & (results["value_high"] <= 0.0)
    holds.add(
        zero,
        "zero-on-log-scale",
        reason=lambda row: (
            f"The row says that {', '.join(results.loc[[row], 'characteristic'].unique())} is zero,"
            " which no method can find."
        ),
        remedy="Have it written as '<' and the quantification limit, or give the method its"
        " quantification_limit in the catalogue.",
    )


def _results(
    cells: pd.DataFrame, lot: pd.Series, profile: SourceProfile, known: Known, holds: Holds
) -> pd.DataFrame:
    """Every reading of every row, one line a reading."""
    if not profile.measures:
        return pd.DataFrame(columns=list(RESULT_FACTS), index=cells.index[:0])
    around = pd.DataFrame({"lot": lot})
    for meaning in _TEXTS:
        around[meaning] = text(cells, profile.columns, meaning)
    for meaning in _FACTORS:
        around[meaning] = number(text(cells, profile.columns, meaning), meaning, profile, holds)
    measured = text(cells, profile.columns, "measured_at")
    around["measured_at"] = moment(measured, profile, known, holds, what="the time of measurement")
    frames = [
        _measured(cells, around, asked, holds) for asked in asked_of(profile, known.catalogue)
    ]
    return pd.concat(frames).sort_index(kind="stable")


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
    frame = around.join(readings(cells, asked, holds), how="inner")
    frame["characteristic"] = asked.characteristic.characteristic
    frame["method"] = asked.method.method
    frame["unit"] = asked.characteristic.unit
    frame["basis"] = asked.measure.basis
    frame["factors"] = _factors_text(asked.method.factors)
    missing_dilution(frame, asked, holds)
    moment = frame["measured_at"].dt.strftime("%Y-%m-%dT%H:%M:%S").fillna("")
    keys = ("method", "characteristic", "lot", "sample", "replicate", "instrument")
    frame["identity"] = glued([*(_unbarred(frame[key]) for key in keys), moment], by="|")
    return frame


def _unbarred(texts: pd.Series) -> pd.Series:
    """The sign that parts an identity, told apart from the same sign in a cell."""
    return texts.str.replace("\\", "\\\\", regex=False).str.replace("|", "\\|", regex=False)


def _factors_text(factors: Mapping[str, float]) -> str:
    inside = ",".join(f'"{name}":{float(factor)!r}' for name, factor in sorted(factors.items()))
    return f"{{{inside}}}"


def _derived(results: pd.DataFrame) -> pd.DataFrame:
    if results.empty:
        return results.reindex(columns=list(RESULT_FACTS))
    # A row may bring several results, so its number does not single one out.
    numbered = results.reset_index()
    values = derive(numbered)
    numbered[["value_low", "value_high"]] = values[["value_low", "value_high"]]
    return numbered.set_index("source_row")[list(RESULT_FACTS)]
