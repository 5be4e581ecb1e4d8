"""What became of files, and what is wrong with rows that were held."""

from collections.abc import Hashable, Mapping, Sequence
from typing import Any

import pandas as pd

from dashboard.frame.folder_board import Notice
from dashboard.frame.words import code, count, joined
from spc.store import Receipt


def receipt(taken: Receipt) -> str:
    """What became of a file."""
    if taken.again:
        return (
            f"{taken.name} was received before, and nothing changed:"
            f" {count(taken.rows, 'row')} known."
        )
    lots = f", {count(len(taken.created_lots), 'new lot')}" if taken.created_lots else ""
    return (
        f"{taken.name}: {count(taken.rows, 'row')} = {taken.stored} stored + {taken.held} held +"
        f" {taken.known} known ({count(taken.results, 'result')}{lots})."
    )


def which_profile(name: str) -> str:
    """Several source profiles fit a file: which is meant."""
    return f"{name} fits more than one source profile. Which source is it from?"


def held_group(group: Mapping[Hashable, Any]) -> str:
    """One group of held rows in a line."""
    return f"{count(int(group['rows']), 'row')} of {group['name']}: {code(group['code'])}"


def checked_again(taken: Receipt) -> str:
    """What became of the rows that waited."""
    return (
        f"{taken.name} checked again: of {count(taken.rows, 'row')} that waited, {taken.stored}"
        f" stored now, {taken.known} known, {taken.held} still held."
    )


def all_checked_again(taken: Sequence[Receipt], still: int) -> str:
    """What became of everything that waited, and how much still does."""
    if not taken:
        return f"Checked again: nothing more can be taken in; {count(still, 'row')} still held."
    stored = sum(one.stored for one in taken)
    names = list(dict.fromkeys(one.name for one in taken))
    return (
        f"Checked again: {count(stored, 'row')} of {count(len(names), 'file')} stored now,"
        f" {count(still, 'row')} still held."
    )


def reasons(reason: pd.Series) -> str:
    """For what rows are held: their reason, or how many there are of it."""
    unlike = reason.drop_duplicates()
    if len(unlike) == 1:
        return str(unlike.iloc[0])
    return f"{len(unlike)} different reasons, the first: {unlike.iloc[0]}"


def intake(receipts: pd.DataFrame, held: pd.DataFrame) -> str:
    """What has come in, and what waits."""
    if receipts.empty:
        return (
            "Nothing has been received yet. Start with a catalogue and a source profile (TOML),"
            " then the files of your laboratory."
        )
    rows, files = int(receipts["rows"].sum()), len(receipts)
    return (
        f"{count(files, 'file')} with {count(rows, 'row')} received, the last one"
        f" {receipts['name'].iloc[0]}; {count(len(held), 'row')} still held."
    )


def watched(place: str, notices: Sequence[Notice]) -> str:
    """What becomes of the files of the watched folder, and how many of them ask for a person."""
    asked = sum(one.asked for one in notices)
    waiting = sum(one.passes for one in notices)
    parts = [
        f"{count(asked, 'file')} may be half a file" * bool(asked),
        f"{count(waiting, 'file')} still being written" * bool(waiting),
        f"{len(notices) - asked - waiting} not read" * (len(notices) > asked + waiting),
    ]
    told = joined([one for one in parts if one] or ["nothing waits in it"])
    return (
        f"Files put into {place} are taken in once nothing is written to them any more: {told}."
        " A copy of each goes to its folder taken, or to refused with the reason."
    )


def called_by(name: str) -> str:
    """Whom the receipt of a file that a person called whole will name."""
    return f"The receipt will say that {name} brought them."


def called_whole(names: Sequence[str]) -> str:
    """That files which a person called whole are taken in."""
    return f"{count(len(names), 'file')} called whole, and taken in at the next look."
