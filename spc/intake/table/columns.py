"""The columns of a table by what they mean, with a reason for every cell that cannot be read."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from typing import Final

import numpy as np
import pandas as pd

from spc.intake.catalogue import Catalogue
from spc.intake.checks.holds import Holds
from spc.intake.checks.usual import Usual
from spc.intake.distinct import coded, constant, glued, of_each
from spc.intake.profiles.profile import FileForm, Headers, SourceProfile
from spc.intake.table.date_doubts import EARLIEST, DateDoubt
from spc.intake.table.moments import doubtful_hours, moments
from spc.intake.table.names import normal
from spc.intake.table.numbers import numbers

# By the end of a column's name: the unit in which it is, which may follow the number.
_WEIGHED: Final = {"g": "g", "mL": "mL", "kg": "kg"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the store holds that a row may refer to.

    Attributes
    ----------
    lots
        Every lot number.
    now
        The moment of receipt, UTC; measurements cannot lie after it.
    awaited
        Lots that are named by a row that waits itself, with the name of its file.
    usual
        What the materials of the file show.
    doubt
        What contradicts the form of date that the profile of this file states.
    confirmed
        By code of what holds a row: the rows of this file that a person found to be right.
    """

    catalogue: Catalogue
    lots: Sequence[str]
    now: np.datetime64
    awaited: Mapping[str, str] = field(default_factory=dict)
    usual: Usual = field(default_factory=Usual)
    confirmed: Mapping[str, frozenset[int]] = field(default_factory=dict)
    doubt: DateDoubt | None = None


def joined(cells: pd.DataFrame, headers: Headers) -> pd.Series:
    """The texts of one or several columns, joined by a blank."""
    if len(headers) == 1:
        # The reader has stripped every cell.
        return normal(cells[headers[0]])
    return coded(normal(glued([cells[header] for header in headers], by=" ").str.strip()))


def text(cells: pd.DataFrame, columns: Mapping[str, Headers], meaning: str) -> pd.Series:
    """The texts that carry a meaning; empty where the profile maps none."""
    if meaning in columns:
        return joined(cells, columns[meaning])
    return constant("", cells.index)


def number(texts: pd.Series, column: str, profile: SourceProfile, holds: Holds) -> pd.Series:
    """Plain numbers of one column; a cell that is none holds its row."""
    own = {_WEIGHED.get(column.rpartition("_")[2], "")} - {""}
    found = of_each(texts, partial(_plain_numbers, form=profile.form, own=own))
    words = column.replace("_", " ")
    holds.add(
        found["wrong"],
        "unreadable-number",
        about=texts,
        reason=lambda text: f"{words} {text!r} is not a plain number.",
        remedy="Correct the cell on Intake once its source has said what is meant.",
    )
    return found["value"]


def _plain_numbers(texts: pd.Series, form: FileForm, own: Collection[str]) -> pd.DataFrame:
    found = numbers(texts, form, own=own)
    wrong = found.unreadable | found.ambiguous | (found.mark != "")
    wrong |= found.below_limit | found.above_range
    return pd.DataFrame({"value": found.value, "wrong": wrong})


def moment(
    texts: pd.Series, profile: SourceProfile, known: Known, holds: Holds, *, what: str
) -> pd.Series:
    """Moments of one column in UTC; one that cannot be read or cannot be true holds its row."""
    moment = moments(texts, profile.form)
    empty = texts.isin(list(profile.form.missing))
    _hold_unreadable(texts[moment.isna() & ~empty].astype("str"), profile.form, holds, what=what)
    holds.add(
        moment < EARLIEST,
        "implausible-date",
        about=texts,
        reason=lambda text: (
            f"{what[0].upper()}{what[1:]} {text!r} lies before {EARLIEST}, and no lot is that old."
        ),
        remedy="Look for a year of two digits, or a clock or spreadsheet that was never set, and"
        " correct the date on Intake.",
    )
    holds.add(
        moment > known.now + np.timedelta64(1, "D"),
        "future-date",
        about=texts,
        reason=lambda text: f"{what[0].upper()}{what[1:]} {text!r} lies in the future.",
        remedy="Check the clock of the instrument, and the order of day and month.",
    )
    if known.doubt is not None:
        _hold_doubtful(texts, moment, profile.form, known.doubt, holds)
    return moment.astype("datetime64[us]")


def _hold_doubtful(
    texts: pd.Series, moment: pd.Series, form: FileForm, doubt: DateDoubt, holds: Holds
) -> None:
    """Hold the rows of dates that can be read in two ways, in a file that shows another form."""
    other = moments(texts, replace(form, date_format=doubt.form))
    holds.add(
        moment.notna() & other.notna() & (moment != other),
        "day-or-month",
        about=pd.DataFrame({"text": texts, "one": moment, "other": other}),
        reason=lambda text, one, two: (
            f"{text!r} can be {one:%d %B %Y} or {two:%d %B %Y}: the source profile says"
            f" {form.date_format}, and the file has {doubt.example!r}, which is only a date as"
            f" {doubt.form}."
        ),
        remedy="Ask the source how it writes dates. If its form has changed, receive the next"
        " version of the source profile and check the file again; if these are right as the profile"
        " reads them, say so on Intake.",
    )


def _hold_unreadable(texts: pd.Series, form: FileForm, holds: Holds, *, what: str) -> None:
    """Hold the rows of texts that are no moment, or two."""
    if texts.empty:
        return
    hours = doubtful_hours(texts, form)
    doubtful = hours != ""
    holds.add(
        doubtful,
        "unreadable-date",
        about=pd.DataFrame({"text": texts, "hour": hours}),
        reason=lambda text, hour: (
            f"{what[0].upper()}{what[1:]} {text!r} {hour} in {form.time_zone}, where the clocks are"
            " changed in that hour."
        ),
        remedy="Find out which moment is meant, and give on Intake the nearest that is not in doubt"
        " and the reason; have its source write the distance from UTC.",
    )
    holds.add(
        ~doubtful,
        "unreadable-date",
        about=texts,
        reason=lambda text: f"{text!r} is not {what} in the form {form.date_format}.",
        remedy="Correct the date on Intake; it is never guessed.",
    )
