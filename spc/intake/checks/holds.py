"""Why a row was held: a code, a sentence, and what to do about it."""

import json
from collections.abc import Callable, Collection, Mapping, Sequence
from functools import cache, partial
from typing import Final

import numpy as np
import pandas as pd

from spc.intake.distinct import coded_columns, glued, reworded

COLUMNS: Final = ("code", "reason", "remedy")

# Doubts that a person can settle by saying that the row is right as it stands.
CONFIRMABLE: Final = (
    "implausible-value",
    "whole-file-slip",
    "day-or-month",
    "test-or-repeat",
)

# A text, or how to word one from what stands in a row.
Words = str | Callable[..., str]


class Holds:
    """Collects the reasons for which rows of one file are held; the first found stands.

    Parameters
    ----------
    cells
        Of the file, as they came.
    confirmed
        By code, the rows that a person found to be right; they are not held for it again.
    """

    def __init__(
        self, cells: pd.DataFrame, confirmed: Mapping[str, Collection[int]] | None = None
    ) -> None:
        self._cells = cells
        self._confirmed = confirmed or {}
        self._found = [pd.DataFrame(columns=list(COLUMNS), index=cells.index[:0], dtype="str")]

    @property
    def rows(self) -> pd.Index:
        """The rows that are held so far."""
        return pd.concat(self._found).index.sort_values()

    def add(
        self,
        mask: pd.Series,
        code: str,
        *,
        reason: Words,
        remedy: Words,
        about: pd.Series | pd.DataFrame | None = None,
    ) -> None:
        """Hold the rows of a mask.

        Parameters
        ----------
        reason, remedy
            A text, or how to word one from what `about` has in a row; each case is worded once.
        about
            Indexed as `mask`; of several columns each is an argument.
        """
        hit = mask.to_numpy(dtype=bool)
        if code in self._confirmed:
            hit = hit & ~np.isin(mask.index, list(self._confirmed[code]))
        if not hit.any():
            return
        cases = pd.DataFrame(index=mask.index[hit]) if about is None else pd.DataFrame(about[hit])
        fresh = cases[~(cases.index.duplicated() | np.isin(cases.index, self.rows))]
        told = {"code": code, "reason": _worded(reason, fresh), "remedy": _worded(remedy, fresh)}
        self._found.append(pd.DataFrame(told, index=fresh.index, dtype="str"))

    def frame(self, lot: pd.Series) -> pd.DataFrame:
        """One held row a line, with the lot it names and its text as it came."""
        frame = pd.concat(self._found).sort_index()
        frame["lot"] = lot[np.isin(lot.index, frame.index)].astype("str")
        frame["original"] = originals(self._cells, frame.index)
        return frame


def _worded(words: Words, cases: pd.DataFrame) -> str | list[str]:
    if isinstance(words, str):
        return words
    once = cache(words)
    columns = [cases[name].tolist() for name in cases]
    return [once(*case) for case in zip(*columns, strict=True)]


def originals_of(frames: Sequence[pd.DataFrame], rows: pd.Index) -> pd.Series:
    """Rows of several tables as they came, each with its own header; see `originals`."""
    every: pd.Series = pd.concat([originals(cells, rows) for cells in frames])
    return every


def originals(cells: pd.DataFrame, rows: pd.Index) -> pd.Series:
    """Rows as they came, in the file's order: JSON of header to text, without empty surplus."""
    mine = cells.iloc[np.flatnonzero(np.isin(cells.index, rows))]
    texts = coded_columns(mine, mine.columns)
    pieces = [reworded(texts[name], partial(_member, str(name))) for name in texts]
    # What is before the first member is one sign too many, whichever member is the first.
    members = glued(pieces, by="").str.slice(2)
    return glued(["{", members, "}"], by="")


def _member(name: str, texts: pd.Series) -> pd.Series:
    """A header with each of its texts, as a member of a JSON object that follows another."""
    key = json.dumps(name.strip("\0"), ensure_ascii=False)
    said = texts.map(lambda text: f", {key}: {json.dumps(text, ensure_ascii=False)}")
    # The reader marks what is none of the file's own columns.
    return said.where(texts != "", "") if name.startswith("\0") else said
