"""Rows of a workbook that a person would read otherwise, or would not see: they wait."""

from collections.abc import Callable, Collection
from typing import Final

import numpy as np
import pandas as pd

from spc.intake.checks.holds import Holds
from spc.intake.marks import NONE, Marks, Place
from spc.intake.profiles.profile import SourceProfile

_SHOW: Final = (
    "Show it in the workbook and receive the file again, or correct it on Intake; if hidden cells"
    " of this source count, say read_hidden = true in its profile."
)
_STRUCK: Final = (
    "Dismiss the row if it was withdrawn, or correct the cell on Intake; if what is struck through"
    " counts in files of this source, say read_struck = true in its profile."
)
_MERGED: Final = (
    "Correct the row on Intake, or have the workbook saved without merged cells; if a value merged"
    " downwards is that of every row beside it, say fill_merged = true in the profile."
)
_CORRECT: Final = "Correct the cell on Intake once its source has said what is meant."


def hold_marked(cells: pd.DataFrame, marks: Marks, profile: SourceProfile, holds: Holds) -> None:
    """Hold the rows whose marks the profile does not allow.

    Parameters
    ----------
    cells
        Of the table: its columns in the order of the sheet.
    """
    if marks == NONE:
        return
    places = {header: place for place, header in enumerate(cells) if header in profile.headers}
    if not profile.form.read_hidden:
        _hold_hidden(cells, marks, places, holds)
    if not profile.form.read_struck:
        _hold_cells(
            cells,
            (marks.struck - marks.seen, places),
            "struck-through",
            holds,
            reason=lambda header, text: f"{header} {text!r} is struck through.",
            remedy=_STRUCK,
        )
    covered = marks.covered(cells.index, downwards=not profile.form.fill_merged)
    _hold_cells(
        cells,
        (frozenset(covered) - marks.seen, places),
        "merged-cells",
        holds,
        reason=lambda header, _: f"{header} is a part of merged cells.",
        remedy=_MERGED,
    )
    _hold_cells(
        cells,
        (marks.errors - marks.seen, places),
        "error-in-cell",
        holds,
        reason=_error,
        remedy=_CORRECT,
    )
    _hold_cells(
        cells,
        (marks.unlike - marks.seen, places),
        "shown-otherwise",
        holds,
        reason=lambda header, text: (
            f"{header} {text!r} is shown in the workbook as another value, or not at all."
        ),
        remedy=_CORRECT,
    )


def _hold_hidden(cells: pd.DataFrame, marks: Marks, places: dict[str, int], holds: Holds) -> None:
    unseen = ~cells.index.isin(list(marks.seen_rows()))
    holds.add(
        pd.Series(unseen & marks.hidden_sheet, index=cells.index),
        "hidden-cells",
        reason="The row stands in a hidden sheet.",
        remedy=_SHOW,
    )
    hidden = cells.index.isin(list(marks.hidden_rows))
    holds.add(
        pd.Series(unseen & hidden, index=cells.index),
        "hidden-cells",
        reason="The row is hidden in the workbook.",
        remedy=_SHOW,
    )
    for header, place in places.items():
        if place in marks.hidden_columns:
            holds.add(
                (cells[header] != "") & unseen,
                "hidden-cells",
                reason=f"Column {header} is hidden in the workbook.",
                remedy=_SHOW,
            )


def _hold_cells(
    cells: pd.DataFrame,
    marked: tuple[Collection[Place], dict[str, int]],
    code: str,
    holds: Holds,
    *,
    reason: Callable[[str, str], str],
    remedy: str,
) -> None:
    """Hold the rows with a marked cell in a column that is read."""
    by_place: dict[int, list[int]] = {}
    for row, place in marked[0]:
        by_place.setdefault(place, []).append(row)
    for header, place in marked[1].items():
        if place in by_place:
            texts = cells[header]
            about = pd.DataFrame({"header": header, "text": texts})
            mask = pd.Series(np.isin(cells.index, by_place[place]), index=cells.index)
            holds.add(mask, code, about=about, reason=reason, remedy=remedy)


def _error(header: str, text: str) -> str:
    if text.startswith("="):
        return f"{header} {text!r} is a formula that was never calculated."
    return f"{header} shows the error {text!r}."
