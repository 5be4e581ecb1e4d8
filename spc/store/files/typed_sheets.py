"""Taking in what a person typed: the sheet's profile and its rows in one transaction."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime

from spc.errors import InvalidInput
from spc.intake.by_hand import Sheet
from spc.intake.profiles.profile import parse
from spc.store.file.cursors import Cursor
from spc.store.files import profiles, receiving
from spc.store.files.receiving import Incoming
from spc.store.files.sorting import Sorted
from spc.store.people.proofs import STORE, Actor
from spc.store.record.receipts import Receipt

Rows = Iterable[Mapping[str, str]]


def receive(cursor: Cursor, sheet: Sheet, rows: Rows, *, by: Actor, at: datetime) -> Receipt:
    """Take in the rows of a sheet as a file of that moment.

    Raises
    ------
    InvalidInput
        If nothing was typed.
    IntakeError
        If it cannot be read.
    """
    incoming = _incoming(sheet, rows, by=by, at=at)
    _receive_profile(cursor, sheet, by=by)
    return receiving.receive(cursor, incoming, profile=sheet.name)


def preview(cursor: Cursor, sheet: Sheet, rows: Rows, *, at: datetime) -> tuple[Receipt, Sorted]:
    """What `receive` would make of the rows; the caller rolls the transaction back."""
    _receive_profile(cursor, sheet, by=STORE)
    incoming = _incoming(sheet, rows, by=STORE, at=at)
    return receiving.preview(cursor, incoming, profile=sheet.name)


def _incoming(sheet: Sheet, rows: Rows, *, by: Actor, at: datetime) -> Incoming:
    content = sheet.content(rows)
    if content == sheet.content([]):
        raise InvalidInput(
            "nothing was typed.", where="results typed in", remedy="Fill in a row first."
        )
    return Incoming(name=f"by hand {at:%Y-%m-%d %H%M%S}.csv", content=content, by=by)


def _receive_profile(cursor: Cursor, sheet: Sheet, *, by: Actor) -> None:
    """Keep the profile that reads the sheet, in a new version if it is read otherwise now."""
    known = {one.profile: one for one in profiles.load(cursor)}.get(sheet.name)
    version = 1 if known is None else known.version
    if known is not None and replace(known, version=1) != parse(sheet.profile(1)):
        version += 1
    text = sheet.profile(version)
    receiving.receive(
        cursor, Incoming(name=f"{sheet.name}.toml", content=text.encode(), by=by), profile=None
    )
