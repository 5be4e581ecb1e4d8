"""The columns of a table by what they mean, with a reason for every cell that cannot be read."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

import numpy as np
import pandas as pd

from spc.intake.catalogue import Catalogue
from spc.intake.distinct import coded, constant, glued, of_each
from spc.intake.holds import Holds
from spc.intake.moments import moments
from spc.intake.numbers import numbers
from spc.intake.profile import FileForm, Headers, SourceProfile


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What the store holds that a row may refer to.

    Attributes
    ----------
    lots
        Every lot number.
    now
        The moment of receipt, UTC; measurements cannot lie after it.
    """

    catalogue: Catalogue
    lots: Sequence[str]
    now: np.datetime64


def joined(cells: pd.DataFrame, headers: Headers) -> pd.Series:
    """The texts of one or several columns, joined by a blank."""
    if len(headers) == 1:
        # The reader has stripped every cell.
        return cells[headers[0]]
    return coded(glued([cells[header] for header in headers], by=" ").str.strip())


def text(cells: pd.DataFrame, columns: Mapping[str, Headers], meaning: str) -> pd.Series:
    """The texts that carry a meaning; empty where the profile maps none."""
    if meaning in columns:
        return joined(cells, columns[meaning])
    return constant("", cells.index)


def number(texts: pd.Series, column: str, profile: SourceProfile, holds: Holds) -> pd.Series:
    """Plain numbers of one column; a cell that is none holds its row."""
    found = of_each(texts, partial(_plain_numbers, form=profile.form))
    words = column.replace("_", " ")
    holds.add(
        found["wrong"],
        "unreadable-number",
        about=texts,
        reason=lambda text: f"{words} {text!r} is not a plain number.",
        remedy="Correct the cell on Intake once its source has said what is meant.",
    )
    return found["value"]


def _plain_numbers(texts: pd.Series, form: FileForm) -> pd.DataFrame:
    found = numbers(texts, form)
    wrong = found.unreadable | found.ambiguous | (found.mark != "") | found.below_limit
    return pd.DataFrame({"value": found.value, "wrong": wrong})


def moment(
    texts: pd.Series, profile: SourceProfile, known: Known, holds: Holds, *, what: str
) -> pd.Series:
    """Moments of one column in UTC; one that cannot be read or lies ahead holds its row."""
    moment = moments(texts, profile.form)
    empty = texts.isin(list(profile.form.missing))
    holds.add(
        moment.isna() & ~empty,
        "unreadable-date",
        about=texts,
        reason=lambda text: f"{text!r} is not {what} in the form {profile.form.date_format}.",
        remedy="Correct the date on Intake; it is never guessed.",
    )
    holds.add(
        moment > known.now + np.timedelta64(1, "D"),
        "future-date",
        about=texts,
        reason=lambda text: f"{what[0].upper()}{what[1:]} {text!r} lies in the future.",
        remedy="Check the clock of the instrument, and the order of day and month.",
    )
    return moment.astype("datetime64[us]")
