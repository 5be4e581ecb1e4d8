"""Rows that belong to a report and not to its table: headers said again, totals, last lines."""

from functools import reduce
from operator import and_
from typing import Final

import pandas as pd

from spc.intake.checks.holds import Holds
from spc.intake.distinct import of_each
from spc.intake.profiles.profile import SourceProfile
from spc.intake.table.columns import Known

# What stands in the first cell of such lines, in English, German, French and Spanish; common
# practice, no source.
_LINES: Final = frozenset(
    (
        *("total", "totals", "grand total", "subtotal", "sum", "mean", "average", "count"),
        *("summe", "zwischensumme", "gesamt", "mittelwert", "anzahl", "somme", "moyenne", "nombre"),
        *("suma", "media", "promedio", "end", "end of report", "end of file", "end of data"),
        *("ende", "berichtsende", "ende des berichts", "fin", "fin du rapport", "fin del informe"),
    )
)
_EDGES: Final = r"^\W+|\W+$"
_REMEDY: Final = "Dismiss it; correct the cell on Intake if a lot is meant."


def hold_furniture(
    cells: pd.DataFrame, lot: pd.Series, profile: SourceProfile, known: Known, holds: Holds
) -> None:
    """Hold the rows in which no lot is meant.

    Parameters
    ----------
    cells
        The columns that the profile maps.
    lot
        What each row names as its lot.
    """
    name = " ".join(profile.columns["lot"])
    holds.add(
        _repeats(cells, lot == name, profile),
        "repeated-header",
        reason="The row repeats the header.",
        remedy="Dismiss it; nothing was measured.",
    )
    holds.add(
        of_each(lot, _is_line) & ~lot.isin(list(known.lots)),
        "line-of-report",
        about=lot,
        reason=lambda text: f"{text!r} is a line of the report, and no lot.",
        remedy=_REMEDY,
    )


def _repeats(cells: pd.DataFrame, likely: pd.Series, profile: SourceProfile) -> pd.Series:
    if not likely.any():
        return likely
    return reduce(and_, (cells[header] == header for header in profile.headers), likely)


def _is_line(lots: pd.Series) -> pd.Series:
    return lots.str.casefold().str.replace(_EDGES, "", regex=True).isin(_LINES)
