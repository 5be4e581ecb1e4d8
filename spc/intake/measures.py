"""One characteristic of every row of a file: from texts to readings, or to reasons to hold."""

import json
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
import pandas as pd

from spc import units
from spc.errors import UnknownUnit
from spc.intake.catalogue import Characteristic
from spc.intake.columns import glued
from spc.intake.holds import Holds, did_you_mean
from spc.intake.methods import MeasuringMethod
from spc.intake.numbers import Numbers, numbers
from spc.intake.profile import Measure, SourceProfile

_CELL_UNITS: Final = [
    unit for unit in units.KNOWN if units.measures(unit) in ("molarity", "mass concentration")
]
_WORDS: Final = {
    "absent": "absent",
    "not detected": "absent",
    "negative": "absent",
    "detected": "detected",
    "present": "detected",
    "positive": "detected",
}
ABSENCE: Final = {"absent": 0.0, "detected": 1.0}


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a file's rows are read as."""

    measure: Measure
    characteristic: Characteristic
    method: MeasuringMethod
    profile: SourceProfile


def readings(cells: pd.DataFrame, asked: Asked, holds: Holds) -> pd.DataFrame:
    """Readings of one measure, one line a row that was measured; rows at fault go to `holds`.

    Returns
    -------
    DataFrame
        Columns reading_text, qualifier, reading, reading_unit, parts; indexed by source row.
    """
    if asked.characteristic.kind == "absence":
        return _absence(cells, asked, holds)
    if asked.measure.parts:
        return _in_parts(cells, asked, holds)
    return _single(cells, asked, holds)


def missing_dilution(frame: pd.DataFrame, asked: Asked, holds: Holds) -> None:
    """Hold readings from a cell whose dilutions are missing or not plausible."""
    from_cell = frame["reading_unit"].isin(_CELL_UNITS)
    for column, words in (
        ("extract_mass_g", "the mass of the portion (g)"),
        ("extract_volume_mL", "the volume of buffer (mL)"),
        ("cell_dilution", "the dilution in the cell (1 if there was none)"),
    ):
        holds.add(
            from_cell & frame[column].isna(),
            "missing-dilution",
            reason=partial(_not_given, words),
            remedy="Look it up in the laboratory's notes; a dilution is never assumed.",
        )
        holds.add(
            from_cell & (frame[column] <= 0.0),
            "implausible-dilution",
            reason=partial(_impossible, words, frame[column]),
            remedy="Correct it in the source and receive the file again.",
        )
    _implausible(frame, from_cell, asked.method, holds)


def _not_given(words: str, _row: int) -> str:
    return f"{words[0].upper()}{words[1:]} is not given."


def _impossible(words: str, given: pd.Series, row: int) -> str:
    return f"{words[0].upper()}{words[1:]} is {given[row]:g}."


def _implausible(
    frame: pd.DataFrame, from_cell: pd.Series, method: MeasuringMethod, holds: Holds
) -> None:
    lowest = -np.inf if method.dilution_lowest is None else method.dilution_lowest
    highest = np.inf if method.dilution_highest is None else method.dilution_highest
    dilution = frame["extract_volume_mL"] / frame["extract_mass_g"]
    holds.add(
        from_cell & ((dilution < lowest) | (dilution > highest)),
        "implausible-dilution",
        reason=lambda row: (
            f"The extract dilution is {dilution[row]:g} mL/g; {method.method} is run at"
            f" {lowest:g} to {highest:g} mL/g, and 0.1 g in 10 mL is 100. Applied as it stands it"
            " would make the heat wrong by that ratio."
        ),
        remedy="Look up portion and buffer in the laboratory's notes, correct the file and"
        " receive it again.",
    )


def _single(cells: pd.DataFrame, asked: Asked, holds: Holds) -> pd.DataFrame:
    texts = cells[asked.measure.reading]
    found = numbers(texts, asked.profile.form)
    _hold_unreadable(texts, found, asked, holds)
    unit = _units(cells, asked, holds, measured=~found.empty)
    limit, upper = (_in_unit(unit, bound, asked) for bound in _range(asked.method))
    _hold_unlimited(texts, found, limit, asked, holds)
    value = found.value.where(~found.below_limit, limit)
    below = found.below_limit | ((found.mark == "") & (value < limit))
    above = (found.mark == "") & (value > upper)
    frame = pd.DataFrame(
        {
            "reading_text": texts,
            "qualifier": found.mark.mask(below, "<").mask(above, ">"),
            "reading": value.mask(below & ~found.below_limit, limit).mask(above, upper),
            "reading_unit": unit,
            "parts": "",
        }
    )
    return frame[~found.empty]


def _in_parts(cells: pd.DataFrame, asked: Asked, holds: Holds) -> pd.DataFrame:
    """A profile of compounds; a part below its limit leaves the sum between two values."""
    columns = asked.measure.parts
    found = {c: numbers(cells[header], asked.profile.form) for c, header in columns.items()}
    empty = pd.DataFrame({compound: part.empty for compound, part in found.items()})
    holds.add(
        empty.any(axis=1) & ~empty.all(axis=1),
        "missing-part",
        reason=lambda row: f"{', '.join(c for c in empty.columns if empty.loc[row, c])} is empty.",
        remedy="Ask the laboratory for the compound, or for '<' and its quantification limit.",
    )
    unit = _units(cells, asked, holds, measured=~empty.all(axis=1))
    limit, _ = (_in_unit(unit, bound, asked) for bound in _range(asked.method))
    for compound, part in found.items():
        texts = cells[columns[compound]]
        _hold_unreadable(texts, part, asked, holds)
        _hold_unlimited(texts, part, limit, asked, holds)
    measured = ~empty.any(axis=1)
    texts = glued([cells[header] for header in columns.values()], by=" + ")
    parts = [
        _part_texts({c: _part(part, limit, row) for c, part in found.items()})
        for row in cells.index[measured]
    ]
    return pd.DataFrame(
        {
            "reading_text": texts[measured],
            "qualifier": "",
            "reading": np.nan,
            "reading_unit": unit[measured],
            "parts": pd.Series(parts, index=cells.index[measured], dtype="str"),
        }
    )


def _part(part: Numbers, limit: pd.Series, row: int) -> tuple[str, float]:
    value, mark = float(part.value[row]), str(part.mark[row])
    if part.below_limit[row] or (mark == "" and value < limit[row]):
        return "<", float(limit[row])
    return mark, value


def _part_texts(parts: dict[str, tuple[str, float]]) -> str:
    # NaN is no JSON; a row that has one is held and its text is never read.
    clean = {c: (mark, None if np.isnan(value) else value) for c, (mark, value) in parts.items()}
    return json.dumps(clean, separators=(",", ":"))


def _absence(cells: pd.DataFrame, asked: Asked, holds: Holds) -> pd.DataFrame:
    texts = cells[asked.measure.reading]
    empty = texts.isin(list(asked.profile.form.missing))
    words = {**_WORDS, **asked.profile.words}
    word = texts.str.casefold().map(words)
    holds.add(
        word.isna() & ~empty,
        "unknown-word",
        reason=lambda row: (
            f"{texts[row]!r} says neither absent nor detected of"
            f" {asked.characteristic.characteristic}."
        ),
        remedy="Add the word to [words] of the source profile.",
    )
    frame = pd.DataFrame(
        {
            "reading_text": texts,
            "qualifier": "",
            "reading": word.map(ABSENCE).astype(np.float64),
            "reading_unit": asked.characteristic.unit,
            "parts": "",
        }
    )
    return frame[~empty]


def _hold_unreadable(texts: pd.Series, found: Numbers, asked: Asked, holds: Holds) -> None:
    name = asked.characteristic.characteristic
    holds.add(
        found.ambiguous,
        "ambiguous-number",
        reason=lambda row: (
            f"{name} {texts[row]!r} can be read in two ways that differ a thousand-fold."
        ),
        remedy="Ask the source which is meant, and correct the file.",
    )
    holds.add(
        found.unreadable,
        "unreadable-number",
        reason=lambda row: f"{name} {texts[row]!r} is not a number that can be used.",
        remedy="Correct the cell; below the quantification limit is written '<' and the limit.",
    )
    holds.add(
        found.value < 0.0,
        "negative-number",
        reason=lambda row: f"{name} {texts[row]!r} is negative.",
        remedy="Correct the cell, or have the measurement repeated.",
    )


def _hold_unlimited(
    texts: pd.Series, found: Numbers, limit: pd.Series, asked: Asked, holds: Holds
) -> None:
    holds.add(
        found.below_limit & limit.isna(),
        "no-quantification-limit",
        reason=lambda row: (
            f"{texts[row]!r} needs the quantification limit of {asked.method.method}, which the"
            " catalogue does not give."
        ),
        remedy="Add quantification_limit to the method in the catalogue.",
    )


def _units(cells: pd.DataFrame, asked: Asked, holds: Holds, *, measured: pd.Series) -> pd.Series:
    """The unit of each row in our spelling; rows with a unit that leads nowhere are held."""
    if asked.measure.unit_column:
        texts = cells[asked.measure.unit_column]
    else:
        texts = pd.Series(asked.measure.unit, index=cells.index, dtype="str")
    own = asked.profile.spellings.get("unit", {})
    spelled = {text: units.spelled(own.get(text, text)) for text in texts.unique()}
    usable = {text: _leads_to_value(unit, asked) for text, unit in spelled.items()}
    holds.add(
        measured & ~texts.map(usable).astype(bool),
        "unknown-unit",
        reason=lambda row: (
            f"Unit {texts[row]!r} of {asked.characteristic.characteristic} is not known."
            if texts[row]
            else f"The unit of {asked.characteristic.characteristic} is empty."
        ),
        remedy=lambda row: did_you_mean(
            texts[row], units.KNOWN, otherwise="Add its spelling to the source profile."
        ),
    )
    return texts.map(spelled)


def _leads_to_value(unit: str, asked: Asked) -> bool:
    try:
        kind, target = units.measures(unit), units.measures(asked.characteristic.unit)
    except UnknownUnit:
        return False
    chemical = ("molarity", "mass concentration", "mass fraction", "pungency")
    return kind == target or (target == "heat" and kind in chemical)


def _range(method: MeasuringMethod) -> tuple[float, float]:
    return (
        np.nan if method.quantification_limit is None else method.quantification_limit,
        np.nan if method.range_upper is None else method.range_upper,
    )


def _in_unit(unit: pd.Series, bound: float, asked: Asked) -> pd.Series:
    """A bound of the method in the unit of each row; NaN where the units do not measure alike."""
    own = asked.method.reading_unit
    sizes = {}
    for name in unit.unique():
        alike = name in units.KNOWN and units.measures(name) == units.measures(own)
        sizes[name] = units.factor(own, to=name) if alike else np.nan
    return unit.map(sizes).astype(np.float64) * bound
