"""Which readings are tests of their own: by sample, by column, and by place in the file."""

from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.intake.checks.holds import Holds
from spc.intake.distinct import as_texts, of_each, plain, reworded
from spc.intake.profiles.profile import Measure, SourceProfile
from spc.intake.profiles.selection import common

# Numbers that tell readings of one lot apart.
NUMBERED: Final = ("sample", "replicate")
# The same number to everybody, whatever a spreadsheet made of it.
_OTHERWISE: Final = r"^0[0-9]|^[0-9]+[.,]0+$"
_ONE: Final = r"^0*([0-9]+)(?:[.,]0+)?$"
_ALIKE: Final = [
    *("lot", "characteristic", "method", "instrument", "measured_at", "replicate"),
]


def one_number(texts: pd.Series) -> pd.Series:
    """Numbers of samples in one spelling: 1, 01 and 1.0 are one sample."""
    other = of_each(texts, lambda each: each.str.contains(_OTHERWISE))
    if not other.any():
        return texts
    return reworded(texts, lambda each: each.str.replace(_ONE, r"\1", regex=True))


def turns(measures: Sequence[Measure]) -> list[int]:
    """For each measure, which column of the same test in the same row it is, from 1.

    Of two columns for one characteristic by one method neither repeats the other, whatever they
    say: they are replicates.
    """
    return [
        1
        + sum(
            (one.characteristic, one.method) == (other.characteristic, other.method)
            and common(one.where, other.where)
            for other in measures[:place]
        )
        for place, one in enumerate(measures)
    ]


def in_turn(replicate: pd.Series, turn: int) -> pd.Series:
    """The number of a reading that stands in the second column or a later one."""
    if turn == 1:
        return replicate
    return reworded(replicate, lambda each: each + f".{turn}")


def as_said(results: pd.DataFrame) -> tuple[pd.DataFrame, NDArray[np.bool_]]:
    """Results with a number that their file writes otherwise, as it does; and which they are."""
    said = {meaning: f"{meaning}_said" for meaning in NUMBERED if f"{meaning}_said" in results}
    other = np.zeros(len(results), dtype=bool)
    for meaning, column in said.items():
        other |= (results[column].astype("str") != results[meaning].astype("str")).to_numpy()
    mine = results[other]
    return mine.assign(**{meaning: mine[column] for meaning, column in said.items()}), other


def numbered(results: pd.DataFrame, profile: SourceProfile, holds: Holds) -> pd.DataFrame:
    """Results in which those that name no sample have their place among those of one lot and time.

    Parameters
    ----------
    results
        Of every row, also of those that are held: the place of a reading must not depend on that.

    Notes
    -----
    A row that names neither sample nor replicate, and stands below another of the same lot, time
    and test, is a second test or the same said again: the profile states which, or it is asked.
    """
    bare = (results["sample"] == "") & ~of_each(
        results["replicate"], lambda each: each.str.contains("^[^.]")
    ).astype(bool)
    if not bare.any() or profile.unnumbered == "repeats":
        return results
    mine = results.loc[bare.to_numpy(), _ALIKE]
    place = mine.groupby(_ALIKE, sort=False, observed=True, dropna=False).cumcount().to_numpy()
    again = np.zeros(len(results), dtype=bool)
    again[bare.to_numpy()] = place > 0
    if not again.any():
        return results
    if not profile.unnumbered:
        _ask(results, pd.Series(again, index=results.index), holds)
    replicate = as_texts(plain(results["replicate"]), results.index).to_numpy(dtype=object)
    numbers = [str(one + 1) for one in place[place > 0]]
    replicate[again] = [a + b for a, b in zip(numbers, replicate[again], strict=True)]
    return results.assign(replicate=pd.array(replicate, dtype="str"))


def _ask(results: pd.DataFrame, again: pd.Series, holds: Holds) -> None:
    holds.add(
        again,
        "test-or-repeat",
        about=results[["lot", "characteristic"]],
        reason=lambda lot, what: (
            f"The row says {what} of lot {lot} once more, of the same time, and names no sample: it"
            " may be a second test, or the same said again."
        ),
        remedy="Have the source profile say which of the two such rows are (unnumbered ="
        ' "replicates", or "repeats") and check the file again; or say on Intake that the row is'
        " right, if it is a second test, and dismiss it, if it says the same again.",
    )
