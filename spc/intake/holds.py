"""Why a row was held: a code, a sentence, and what to do about it."""

import json
from collections.abc import Callable
from functools import cache
from typing import Final

import numpy as np
import pandas as pd

COLUMNS: Final = ("code", "reason", "remedy")

# A text, or how to word one from what stands in a row.
Words = str | Callable[..., str]

# Rows whose cells are objects of their own at one time; a whole file would fill the memory.
_AT_ONCE: Final = 10_000


class Holds:
    """Collects the reasons for which rows of one file are held; the first found stands."""

    def __init__(self, cells: pd.DataFrame) -> None:
        self._cells = cells
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


def originals(cells: pd.DataFrame, rows: pd.Index) -> list[str]:
    """Rows as they came, in the file's order: JSON of header to text, without empty surplus."""
    mine = cells[np.isin(cells.index, rows)]
    return [
        json.dumps(
            {
                str(name).strip("\0"): text
                for name, text in row.items()
                if text or not str(name).startswith("\0")
            },
            ensure_ascii=False,
        )
        for first in range(0, len(mine), _AT_ONCE)
        for row in mine.iloc[first : first + _AT_ONCE].to_dict("records")
    ]
