"""Long tables: one row a determination, and a column that names what was determined."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import pandas as pd

from spc.intake.catalogue import Catalogue
from spc.intake.methods import MeasuringMethod
from spc.intake.profiles.selection import Where, alike
from spc.intake.proposals.candidates import (
    Reading,
    are_numbers,
    by_name,
    first_unit,
    own_unit,
    that_fit,
)
from spc.intake.proposals.header_words import (
    MEANINGS,
    METHOD_COLUMNS,
    METHODS,
    NAMING_COLUMNS,
    READINGS,
    likeness,
    plain,
    unit_in,
)
from spc.intake.readers import Table

# A column that names determinations has few words; a remark or a lot number has many.
_MOST_WORDS: Final = 100
_FEWEST_NAMED: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class LongColumns:
    """Which columns of a long table say what.

    Attributes
    ----------
    naming
        Header of the column that names what was measured.
    method, unit
        Headers of those that name the method and the unit; empty if there is none.
    reading
        Header of the column of readings.
    """

    naming: str
    method: str = ""
    reading: str
    unit: str = ""


def naming_column(table: Table, catalogue: Catalogue) -> str:
    """The column whose words name characteristics of the catalogue; empty if there is none.

    A column that is called so needs one such word; any other needs two, half of its words at
    least, and a name that says nothing else.
    """
    found = {header: _naming(header, table.cells[header], catalogue) for header in table.headers}
    best = max(found, key=lambda header: found[header], default="")
    return best if found.get(best) else ""


def long_columns(
    table: Table, naming: str, unit: str, *, taken: Collection[str]
) -> LongColumns | None:
    """The columns beside one that names what was measured; None if none of them holds readings.

    Parameters
    ----------
    taken
        Headers that mean something else.
    """
    free = [one for one in table.headers if one not in {*taken, naming, unit}]
    method = _likest(free, METHOD_COLUMNS)
    rest = [one for one in free if one != method]
    numeric = [one for one in rest if are_numbers(table.cells[one])]
    reading = _likest(rest, READINGS) or next(iter(numeric), "")
    if not reading:
        return None
    return LongColumns(naming=naming, method=method, reading=reading, unit=unit)


def named_readings(table: Table, at: LongColumns, catalogue: Catalogue) -> tuple[Reading, ...]:
    """One reading of each word, and of each method if there is a column of them.

    Returns
    -------
    tuple of Reading
        In the order in which the words first come.
    """
    cells = table.cells
    reported = cells[cells[at.reading] != ""]
    headers = [one for one in (at.naming, at.method) if one]
    keys = pd.DataFrame({header: _alike(reported[header]) for header in headers})
    told = reported[[*headers, *filter(None, [at.unit])]]
    grouped = told.groupby([keys[header] for header in headers], sort=False)
    return tuple(_reading(mine, headers, at, catalogue) for _, mine in grouped)


def _naming(header: str, texts: pd.Series, catalogue: Catalogue) -> float:
    words = [word for word in texts.unique() if word]
    if not words or len(words) > _MOST_WORDS or are_numbers(pd.Series(words)):
        return 0.0
    named = sum(bool(by_name(word, catalogue)) for word in words)
    called = likeness(header, NAMING_COLUMNS)
    otherwise = max(likeness(header, names) for names in MEANINGS.values())
    if called and called >= otherwise and named:
        return 1.0 + named / len(words)
    plainly = named >= _FEWEST_NAMED and 2 * named >= len(words) and not otherwise
    return named / len(words) if plainly else 0.0


def _likest(headers: Sequence[str], names: Sequence[str]) -> str:
    """The header that is most like some names; empty if none is like them."""
    best = max(headers, key=lambda header: likeness(header, names), default="")
    return best if best and likeness(best, names) else ""


def _alike(texts: pd.Series) -> pd.Series:
    return texts.map({text: alike(text) for text in texts.unique()})


def _reading(
    rows: pd.DataFrame, headers: Sequence[str], at: LongColumns, catalogue: Catalogue
) -> Reading:
    where: Where = {header: (str(rows[header].iloc[0]),) for header in headers}
    word = where[at.naming][0]
    unit = first_unit(rows[at.unit]) if at.unit else ""
    fixed = "" if unit else unit_in(word) or unit_in(at.reading)
    named = that_fit(unit or fixed, by_name(word, catalogue), catalogue)
    own = own_unit(named, catalogue)
    return Reading(
        reading=at.reading,
        parts={},
        candidates=_by_method(named, where.get(at.method, ("",))[0]),
        unit=own or fixed,
        unit_column=at.unit if unit and not own else "",
        where=where,
    )


def _by_method(methods: tuple[MeasuringMethod, ...], said: str) -> tuple[MeasuringMethod, ...]:
    """The methods that a laboratory's word for them is most like; all if it is like none."""
    scores: Mapping[str, float] = {
        one.method: likeness(said, (plain(one.method), *METHODS.get(one.method, ())))
        for one in methods
    }
    best = max(scores.values(), default=0.0)
    return tuple(one for one in methods if scores[one.method] == best) if best else methods
