"""How a source writes its dates, by the ones that can be written in one way only."""

import itertools
from collections.abc import Iterable
from typing import Final

import pandas as pd

from spc.intake.profiles.profile import FileForm
from spc.intake.table.moments import moments

# With dots the day comes first wherever dots are used; a slash or a stroke leaves it open.
_DAYS: Final = (
    "%Y-%m-%d", "%Y/%m/%d", "%d.%m.%Y", "%d.%m.%y",
    "%d/%m/%Y", "%m/%d/%Y", "%d/%m/%y", "%m/%d/%y", "%y/%m/%d",
    "%d-%m-%Y", "%m-%d-%Y", "%d-%m-%y", "%m-%d-%y", "%y-%m-%d",
)  # fmt: skip
_TIMES: Final = ("", " %H:%M", " %H:%M:%S", "T%H:%M:%S", "T%H:%M:%S%z", " %I:%M %p", " %I:%M:%S %p")
_FIRST: Final = 100
STYLES: Final = tuple(day + time for day, time in itertools.product(_DAYS, _TIMES))


def date_styles(texts: pd.Series) -> tuple[str, ...]:
    """Every style in which all the texts are dates.

    Parameters
    ----------
    texts
        Cells of one column, or of a day's and a time's joined by a blank; empty ones say nothing.

    Returns
    -------
    tuple of str
        None if no style fits all; several if the texts leave open which is meant.
    """
    said = pd.Series(texts[texts != ""].unique(), dtype="str")
    if said.empty:
        return ()
    # The first ones rule out nearly every style, so that a long column is read by a few only.
    likely = _fitting(said.iloc[:_FIRST], STYLES)
    return likely if len(said) <= _FIRST else _fitting(said, likely)


def _fitting(said: pd.Series, styles: Iterable[str]) -> tuple[str, ...]:
    return tuple(
        style for style in styles if moments(said, FileForm(date_format=style)).notna().all()
    )
