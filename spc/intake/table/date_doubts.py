"""Dates of a file that contradict the form of its profile; then all that fit two are in doubt."""

import itertools
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd

from spc.intake.profiles.profile import FileForm
from spc.intake.table.moments import moments

# No lot that is kept is older.  Clocks and spreadsheets that were never set say a day before it:
# 1899-12-30, 1900-01-01, 1904-01-01, 1970-01-01, 1980-01-01; and a year of two digits is one, too.
EARLIEST: Final = np.datetime64("1990-01-01")
_PARTS: Final = re.compile("%[dmyY]")


@dataclass(frozen=True, slots=True, kw_only=True)
class DateDoubt:
    """That a file has a date which only another form than the profile's can read.

    Attributes
    ----------
    form
        The other form.
    example
        The text that shows it.
    """

    form: str
    example: str


def date_doubt(
    columns: Sequence[pd.Series], form: FileForm, *, now: np.datetime64
) -> DateDoubt | None:
    """What contradicts the form that a profile states; None if nothing does.

    Parameters
    ----------
    columns
        Every column of dates.
    now
        After which no date of a file can lie.
    """
    others = _other_orders(form.date_format)
    if not others or not columns:
        return None
    every = pd.concat([pd.Series(texts.unique(), dtype="str") for texts in columns])
    said = every[~every.isin(list(form.missing))]
    odd = said[~_possible(moments(said, form), now)]
    for other in others:
        fits = odd[_possible(moments(odd, replace(form, date_format=other)), now)]
        if not fits.empty:
            return DateDoubt(form=other, example=str(fits.iloc[0]))
    return None


def _possible(found: pd.Series, now: np.datetime64) -> pd.Series:
    return found.notna() & (found >= EARLIEST) & (found <= now + np.timedelta64(1, "D"))


def _other_orders(form: str) -> list[str]:
    """The same form with day, month and year in other places; the year first leaves no doubt."""
    parts = _PARTS.findall(form)
    if len(parts) != 3 or parts[0] == "%Y":
        return []
    orders = [parts[1::-1] + parts[2:]] if "%Y" in parts else itertools.permutations(parts)
    found = (_PARTS.sub("{}", form).format(*order) for order in orders)
    return [one for one in dict.fromkeys(found) if one != form]
