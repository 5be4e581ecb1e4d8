"""One characteristic of every row of a file: from texts to readings, or to reasons to hold."""

import itertools
import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
import pandas as pd

from spc import units
from spc.errors import UnknownUnit
from spc.intake.characteristics import Characteristic
from spc.intake.checks.holds import Holds
from spc.intake.checks.spelling import did_you_mean
from spc.intake.distinct import constant, glued, mapped, of_each
from spc.intake.methods import MeasuringMethod
from spc.intake.profiles.profile import Measure, SourceProfile
from spc.intake.table.dressed import own_units
from spc.intake.table.numbers import Numbers, numbers

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


def _measured(frame: pd.DataFrame, rows: pd.Series) -> pd.DataFrame:
    """The rows that were measured; a long file in which all were is not copied."""
    return frame if rows.all() else frame[rows]


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
            reason=f"{words[0].upper()}{words[1:]} is not given.",
            remedy="Look it up in the laboratory's notes; a dilution is never assumed.",
        )
        holds.add(
            from_cell & (frame[column] <= 0.0),
            "implausible-dilution",
            about=frame[column],
            reason=partial(_impossible, words),
            remedy="Correct it on Intake once the laboratory's notes say what it was.",
        )
    _implausible(frame, from_cell, asked.method, holds)


def _impossible(words: str, given: float) -> str:
    return f"{words[0].upper()}{words[1:]} is {given:g}."


def _implausible(
    frame: pd.DataFrame, from_cell: pd.Series, method: MeasuringMethod, holds: Holds
) -> None:
    lowest = -np.inf if method.dilution_lowest is None else method.dilution_lowest
    highest = np.inf if method.dilution_highest is None else method.dilution_highest
    dilution = frame["extract_volume_mL"] / frame["extract_mass_g"]
    holds.add(
        from_cell & ((dilution < lowest) | (dilution > highest)),
        "implausible-dilution",
        about=dilution,
        reason=lambda given: (
            f"The extract dilution is {given:g} mL/g; {method.method} is run at"
            f" {lowest:g} to {highest:g} mL/g, and 0.1 g in 10 mL is 100. Applied as it stands it"
            " would make the heat wrong by that ratio."
        ),
        remedy="Look up portion and buffer in the laboratory's notes, and correct them on Intake.",
    )


def _single(cells: pd.DataFrame, asked: Asked, holds: Holds) -> pd.DataFrame:
    texts = cells[asked.measure.reading]
    found = numbers(texts, asked.profile.form, own=own_units(asked.measure.unit))
    _hold_unreadable(texts, found, asked, holds)
    unit = _units(cells, asked, holds, measured=~found.empty)
    limit, upper = (_in_unit(unit, bound, asked) for bound in _range(asked.method))
    _hold_unlimited(texts, found, limit, asked, holds)
    _hold_unbounded(texts, found, upper, asked, holds)
    below = _below(found, limit)
    above = found.above_range | ((found.mark == "") & (found.value > upper))
    frame = pd.DataFrame(
        {
            "reading_text": texts,
            "qualifier": found.mark.mask(below, "<").mask(above, ">"),
            "reading": found.value.mask(below, limit).mask(above, upper),
            "reading_unit": unit,
            "parts": constant("", cells.index),
        }
    )
    return _measured(frame, ~found.empty)


def _below(found: Numbers, limit: pd.Series) -> pd.Series:
    """What is stated as below the method's limit, or is a plain number that lies below it."""
    return found.below_limit | ((found.mark == "") & (found.value < limit))


def _in_parts(cells: pd.DataFrame, asked: Asked, holds: Holds) -> pd.DataFrame:
    """A profile of compounds; a part below its limit leaves the sum between two values."""
    columns = asked.measure.parts
    own = own_units(asked.measure.unit)
    found = {
        c: numbers(cells[header], asked.profile.form, own=own) for c, header in columns.items()
    }
    empty = pd.DataFrame({compound: part.empty for compound, part in found.items()})
    holds.add(
        empty.any(axis=1) & ~empty.all(axis=1),
        "missing-part",
        about=empty,
        reason=lambda *lacking: f"{', '.join(itertools.compress(columns, lacking))} is empty.",
        remedy="Ask the laboratory for the compound, or for '<' and its quantification limit.",
    )
    unit = _units(cells, asked, holds, measured=~empty.all(axis=1))
    limit, _ = (_in_unit(unit, bound, asked) for bound in _range(asked.method))
    for compound, part in found.items():
        texts = cells[columns[compound]]
        _hold_unreadable(texts, part, asked, holds)
        _hold_unlimited(texts, part, limit, asked, holds)
        # A sum of parts one of which is only known from below is not kept.
        _hold_unbounded(texts, part, limit * np.nan, asked, holds)
    frame = pd.DataFrame(
        {
            "reading_text": glued([cells[header] for header in columns.values()], by=" + "),
            "qualifier": constant("", cells.index),
            "reading": np.nan,
            "reading_unit": unit,
            "parts": _parts(found, limit),
        }
    )
    return _measured(frame, ~empty.any(axis=1))


def _parts(found: Mapping[str, Numbers], limit: pd.Series) -> pd.Series:
    """The parts of each row as JSON: compound to mark and value."""
    pieces: list[pd.Series | str] = ["{"]
    for compound, part in found.items():
        below = _below(part, limit)
        comma = "," if len(pieces) > 1 else ""
        pieces += [f'{comma}{json.dumps(compound)}:["', part.mark.mask(below, "<"), '",']
        pieces += [_figures(part.value.mask(below, limit)), "]"]
    return glued([*pieces, "}"], by="")


def _figures(values: pd.Series) -> pd.Series:
    """Numbers as JSON has them; each distinct one is written once."""
    codes, distinct = pd.factorize(values, use_na_sentinel=False)
    # NaN is no JSON; a row that has one is held and its text is never read.
    texts = ["null" if np.isnan(value) else json.dumps(value) for value in distinct.tolist()]
    return pd.Series(texts, dtype="str").take(codes).set_axis(values.index)


def _absence(cells: pd.DataFrame, asked: Asked, holds: Holds) -> pd.DataFrame:
    texts = cells[asked.measure.reading]
    empty = texts.isin(list(asked.profile.form.missing))
    words = {**_WORDS, **asked.profile.words}
    word = of_each(texts, lambda distinct: distinct.str.casefold().map(words))
    holds.add(
        word.isna() & ~empty,
        "unknown-word",
        about=texts,
        reason=lambda text: (
            f"{text!r} says neither absent nor detected of {asked.characteristic.characteristic}."
        ),
        remedy="Add the word to [words] of the source profile.",
    )
    frame = pd.DataFrame(
        {
            "reading_text": texts,
            "qualifier": constant("", cells.index),
            "reading": word.map(ABSENCE).astype(np.float64),
            "reading_unit": constant(asked.characteristic.unit, cells.index),
            "parts": constant("", cells.index),
        }
    )
    return _measured(frame, ~empty)


def _hold_unreadable(texts: pd.Series, found: Numbers, asked: Asked, holds: Holds) -> None:
    name = asked.characteristic.characteristic
    holds.add(
        found.ambiguous,
        "ambiguous-number",
        about=texts,
        reason=lambda text: f"{name} {text!r} can be read in two ways that differ a thousand-fold.",
        remedy="Ask the source which is meant, and correct the cell on Intake.",
    )
    holds.add(
        found.unreadable,
        "unreadable-number",
        about=texts,
        reason=lambda text: f"{name} {text!r} is not a number that can be used.",
        remedy="Correct the cell on Intake, or say there how all alike are read: below the"
        " quantification limit is written '<' and the limit, above the range '>' and its end.",
    )
    holds.add(
        found.value < 0.0,
        "negative-number",
        about=texts,
        reason=lambda text: f"{name} {text!r} is negative.",
        remedy="Correct the cell on Intake, or have the measurement repeated.",
    )


def _hold_unlimited(
    texts: pd.Series, found: Numbers, limit: pd.Series, asked: Asked, holds: Holds
) -> None:
    holds.add(
        found.below_limit & limit.isna(),
        "no-quantification-limit",
        about=texts,
        reason=lambda text: (
            f"{text!r} needs the quantification limit of {asked.method.method}, which the"
            " catalogue does not give."
        ),
        remedy="Add quantification_limit to the method in the catalogue.",
    )


def _hold_unbounded(
    texts: pd.Series, found: Numbers, upper: pd.Series, asked: Asked, holds: Holds
) -> None:
    holds.add(
        found.above_range & upper.isna(),
        "no-calibrated-range",
        about=texts,
        reason=lambda text: (
            f"{text!r} needs the upper end of the range of {asked.method.method}, which the"
            " catalogue does not give."
        ),
        remedy="Add range_upper to the method in the catalogue, or correct the cell on Intake.",
    )


def _units(cells: pd.DataFrame, asked: Asked, holds: Holds, *, measured: pd.Series) -> pd.Series:
    """The unit of each row in our spelling; rows with a unit that leads nowhere are held."""
    header = asked.measure.unit_column
    texts = cells[header] if header else constant(asked.measure.unit, cells.index)
    own = asked.profile.spellings.get("unit", {})
    spelled = {text: units.spelled(own.get(text, text)) for text in texts.unique()}
    usable = [text for text, unit in spelled.items() if _leads_to_value(unit, asked)]
    holds.add(
        measured & ~texts.isin(usable),
        "unknown-unit",
        about=texts,
        reason=lambda text: (
            f"Unit {text!r} of {asked.characteristic.characteristic} is not known."
            if text
            else f"The unit of {asked.characteristic.characteristic} is empty."
        ),
        remedy=did_you_mean(units.KNOWN, otherwise="Add its spelling to the source profile."),
    )
    return mapped(texts, spelled)


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
    return of_each(unit, lambda names: names.map(sizes).astype(np.float64) * bound)
