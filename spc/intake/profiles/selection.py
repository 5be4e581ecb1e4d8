"""Which rows of a long table a measure reads: those whose cells say what was measured."""

from collections.abc import Mapping, Sequence
from functools import partial
from typing import Final

import pandas as pd

from spc.intake.checks.holds import Holds
from spc.intake.checks.spelling import did_you_mean
from spc.intake.distinct import of_each

# Header to the words that a row may have there; a row must fit in every header.
Where = Mapping[str, tuple[str, ...]]

_REMEDY: Final = (
    "Add the word to the source profile and check the file again, or dismiss the row if this is"
    " not to be kept."
)


def alike(word: str) -> str:
    """A word as it is compared: without regard to case and to how many blanks there are."""
    return " ".join(word.split()).casefold()


def common(one: Where, other: Where) -> bool:
    """Whether a row can fit both of two selections."""
    return all(
        set(map(alike, words)) & set(map(alike, other[header]))
        for header, words in one.items()
        if header in other
    )


def selected(cells: pd.DataFrame, where: Where) -> pd.Series:
    """Which rows fit a selection; all of them if it names no header."""
    fits = pd.Series(True, index=cells.index)  # noqa: FBT003
    for header, words in where.items():
        fits &= _says(cells[header], words)
    return fits


def hold_unclaimed(
    cells: pd.DataFrame, selections: Sequence[Where], reported: pd.Series, holds: Holds
) -> None:
    """Hold the rows that report something which none of several selections fits.

    Parameters
    ----------
    selections
        One of each measure that reads some rows only.
    reported : shape (rows,)
        Whether anything stands where these measures are read.
    """
    unclaimed = reported.copy()
    for where in selections:
        unclaimed &= ~selected(cells, where)
    if not unclaimed.any():
        return
    for header in dict.fromkeys(header for where in selections for header in where):
        words = [word for where in selections for word in where.get(header, ())]
        _hold(cells[header], unclaimed & ~_says(cells[header], words), words, holds)
    # Every word is known, but not together with the others.
    named = list(dict.fromkeys(header for where in selections for header in where))
    holds.add(
        unclaimed,
        "unknown-characteristic",
        about=cells[named],
        reason=partial(_together, named),
        remedy=_REMEDY,
    )


def _says(texts: pd.Series, words: Sequence[str]) -> pd.Series:
    wanted = list(map(alike, words))
    return of_each(texts, lambda distinct: distinct.map(alike).isin(wanted))


def _hold(texts: pd.Series, rows: pd.Series, words: Sequence[str], holds: Holds) -> None:
    header = texts.name
    holds.add(
        rows,
        "unknown-characteristic",
        about=texts,
        reason=lambda text: (
            f"{header} says {text!r}, which the source profile maps to nothing."
            if text
            else f"{header} is empty, so that nothing says what was measured."
        ),
        remedy=did_you_mean([word for word in words if word], otherwise=_REMEDY),
    )


def _together(headers: Sequence[str], *words: str) -> str:
    said = " and ".join(f"{header} {word!r}" for header, word in zip(headers, words, strict=True))
    return f"The source profile maps {said} together to nothing."
