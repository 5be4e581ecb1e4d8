"""Compounds in rows of their own: parts of a heat that no single row says."""

from collections.abc import Sequence
from functools import reduce
from operator import or_
from typing import Final

import pandas as pd

from spc.derivation import HEAT_UNIT
from spc.heat import MOLAR_MASS
from spc.intake.checks.holds import Holds
from spc.intake.distinct import of_each
from spc.intake.measures import Asked
from spc.intake.profiles.selection import selected
from spc.intake.proposals.header_words import plain

# As laboratories write them in English and German, in French (-e) and in Spanish (-a, dihidro-).
_COMPOUNDS: Final = frozenset(
    name + ending
    for compound in MOLAR_MASS
    for name in (compound, compound.replace("hydro", "hidro"))
    for ending in ("", "e", "a")
) | {"dhc", "ndhc"}


def hold_parts_apart(
    cells: pd.DataFrame, asked: Sequence[Asked], reported: pd.Series, holds: Holds
) -> None:
    """Hold the rows of a long table that report one compound, unless it is asked for by itself.

    Read as a heat, such a row would be taken for the whole; a row that has the other compounds
    beside it is whole.

    Parameters
    ----------
    asked
        What is read in some rows only.
    reported : shape (rows,)
        Whether anything stands where these measures are read.
    """
    named = dict.fromkeys(header for one in asked for header in one.measure.where)
    said = {header: reported & of_each(cells[header], _are_compounds) for header in named}
    if not any(rows.any() for rows in said.values()):
        return
    whole = [one for one in asked if one.measure.parts or one.characteristic.unit != HEAT_UNIT]
    apart = ~reduce(or_, (selected(cells, one.measure.where) for one in whole), ~reported)
    for header, rows in said.items():
        holds.add(
            rows & apart,
            "part-by-itself",
            about=cells[header],
            reason=lambda word: (
                f"The row reports {word!r} by itself, which is a part of a heat; parts in rows of"
                " their own are not added up."
            ),
            remedy="Ask its source for the total in one row, or for one row a sample with a column"
            " for each compound; or type the compounds in together on Intake, and dismiss the"
            " rows.",
        )


def _are_compounds(words: pd.Series) -> pd.Series:
    return words.map(lambda word: plain(word) in _COMPOUNDS).astype(bool)
