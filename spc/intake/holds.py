"""Why a row was held: a code, a sentence, and what to do about it."""

import difflib
import json
from collections.abc import Callable, Iterable, Sequence
from typing import Final

import pandas as pd

COLUMNS: Final = ("code", "reason", "remedy")


class Holds:
    """Collects the reasons for which rows of one file are held; the first found stands."""

    def __init__(self, cells: pd.DataFrame) -> None:
        self._cells = cells
        self._reasons: dict[int, tuple[str, str, str]] = {}

    @property
    def rows(self) -> list[int]:
        """The rows that are held so far."""
        return sorted(self._reasons)

    def add(
        self,
        mask: pd.Series,
        code: str,
        *,
        reason: Callable[[int], str],
        remedy: str | Callable[[int], str],
    ) -> None:
        """Hold the rows of a mask; `reason` and `remedy` are asked for held rows only."""
        for row in mask.index[mask.to_numpy(dtype=bool)]:
            if row not in self._reasons:
                told = remedy if isinstance(remedy, str) else remedy(row)
                self._reasons[row] = (code, reason(row), told)

    def frame(self, lot: pd.Series) -> pd.DataFrame:
        """One held row a line, with the lot it names and its text as it came."""
        rows = self.rows
        frame = pd.DataFrame(
            [self._reasons[row] for row in rows],
            columns=list(COLUMNS),
            index=pd.Index(rows, dtype="int64", name="source_row"),
            dtype="str",
        )
        frame["lot"] = lot.loc[rows].to_numpy()
        frame["original"] = originals(self._cells, rows)
        return frame


def originals(cells: pd.DataFrame, rows: Iterable[int]) -> list[str]:
    """Rows as they came, each as JSON of header to text; empty surplus is left out."""
    return [
        json.dumps(
            {
                str(name).strip("\0"): text
                for name, text in row.items()
                if text or not str(name).startswith("\0")
            },
            ensure_ascii=False,
        )
        for row in cells.loc[list(rows)].to_dict("records")
    ]


def did_you_mean(name: str, known: Sequence[str], *, otherwise: str) -> str:
    """The nearest known names, or what to do if there is none near."""
    near = difflib.get_close_matches(name, known, n=3, cutoff=0.75)
    return f"Did you mean {' or '.join(near)}? {otherwise}" if near else otherwise
