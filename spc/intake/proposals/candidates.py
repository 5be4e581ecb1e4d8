"""Which methods of the catalogue could have given what a column holds, by its name and unit."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import pandas as pd

from spc import units
from spc.errors import UnknownUnit
from spc.intake.catalogue import Catalogue
from spc.intake.methods import MeasuringMethod
from spc.intake.profiles.selection import Where
from spc.intake.proposals.header_words import (
    CHARACTERISTICS,
    OTHERS,
    READINGS,
    likeness,
    plain,
    unit_in,
)
from spc.intake.readers.signs import is_number

_CHEMICAL: Final = ("molarity", "mass concentration", "mass fraction", "pungency")
# Share of numbers from which a column is one of readings; the others may say "n.d." or nothing.
_NUMERIC: Final = 0.5
_LOOKED_AT: Final = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """A column, or several of compounds, that seems to hold what was measured.

    Attributes
    ----------
    reading, parts
        Header, or compound to header.
    candidates
        Methods of the catalogue that could have measured it; one if it is plain, none if nothing
        in the catalogue is named like it.
    unit, unit_column
        Empty where neither the header nor another column says it.
    where
        The rows of a long table in which it stands.
    """

    reading: str = ""
    parts: Mapping[str, str]
    candidates: tuple[MeasuringMethod, ...]
    unit: str = ""
    unit_column: str = ""
    where: Where = field(default_factory=dict)


def by_name(name: str, catalogue: Catalogue) -> tuple[MeasuringMethod, ...]:
    """The methods of the characteristic that a name is most like; none if it is like none."""
    scores = {
        one.characteristic: likeness(
            name, (plain(one.characteristic), *CHARACTERISTICS.get(one.characteristic, ()))
        )
        for one in catalogue.characteristics
    }
    best = max(scores.values(), default=0.0)
    if likeness(name, OTHERS) > best:
        return ()
    meant = {characteristic for characteristic, score in scores.items() if score == best}
    return tuple(one for one in catalogue.methods if best and one.characteristic in meant)


def of_column(
    header: str, texts: pd.Series, unit: str, catalogue: Catalogue
) -> tuple[MeasuringMethod, ...]:
    """Methods that could have measured a column: by its name, or else by its numbers' unit."""
    named = by_name(header, catalogue)
    if named:
        return that_fit(unit, named, catalogue)
    told = unit or likeness(header, READINGS)
    if not told or likeness(header, OTHERS) or not are_numbers(texts):
        return ()
    return tuple(one for one in catalogue.methods if _fits(unit, one, catalogue))


def that_fit(
    unit: str, methods: tuple[MeasuringMethod, ...], catalogue: Catalogue
) -> tuple[MeasuringMethod, ...]:
    """Those of some methods whose characteristic a unit leads to; all of them if none is."""
    return tuple(one for one in methods if _fits(unit, one, catalogue)) or methods


def are_numbers(texts: pd.Series) -> bool:
    """Whether at least half of the texts of a column are numbers."""
    said = texts[texts != ""].iloc[:_LOOKED_AT]
    return len(said) > 0 and sum(map(is_number, said)) / len(said) >= _NUMERIC


def own_unit(candidates: Sequence[MeasuringMethod], catalogue: Catalogue) -> str:
    """The unit that an absence test has without saying so; empty for what is measured."""
    found = catalogue.characteristic(candidates[0].characteristic) if candidates else None
    return found.unit if found is not None and found.kind == "absence" else ""


def first_unit(texts: pd.Series) -> str:
    """The first known unit of a column of units."""
    return next((unit for text in texts.unique() if (unit := unit_in(text))), "")


def _fits(unit: str, method: MeasuringMethod, catalogue: Catalogue) -> bool:
    found = catalogue.characteristic(method.characteristic)
    return not unit or _leads_to(unit, found.unit if found else "")


def _leads_to(unit: str, target: str) -> bool:
    try:
        kind, wanted = units.measures(unit), units.measures(target)
    except UnknownUnit:
        return False
    return kind == wanted or (wanted == "heat" and kind in _CHEMICAL)
