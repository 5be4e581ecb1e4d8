"""Taking in a file: one transaction, and rows in = stored + held + known."""

import hashlib
import json
from dataclasses import dataclass, replace
from functools import cached_property

import pandas as pd
import pyarrow as pa

from spc.errors import IntakeError, UnreadableFile
from spc.intake import SourceProfile
from spc.intake import catalogue as catalogue_file
from spc.intake.checks.holds import originals
from spc.intake.profiles.profile import is_profile
from spc.intake.toml_text import refuse_large
from spc.store.catalogue import catalogue
from spc.store.file.cursors import Cursor
from spc.store.files import changed_results, confirming, mending, profiles
from spc.store.files.confirming import Confirmation
from spc.store.files.layouts import read_again, read_as, read_by
from spc.store.files.mending import Mend
from spc.store.files.sorting import Sorted, interpreted, only, sort_out
from spc.store.lots import alarms, dispositions, lots, results
from spc.store.people.proofs import Actor
from spc.store.record import audit, receipts, rows
from spc.store.record.receipts import Receipt


@dataclass(frozen=True, kw_only=True)
class Incoming:
    """A file as it was handed over."""

    name: str
    content: bytes
    by: Actor

    @cached_property
    def sha256(self) -> str:
        """Digest of the bytes."""
        return hashlib.sha256(self.content).hexdigest()

    @property
    def receipt(self) -> str:
        """The name of its receipt."""
        return self.sha256[:12]


def receive(cursor: Cursor, incoming: Incoming, *, profile: str | None) -> Receipt:
    """Take in a file inside the caller's transaction.

    Raises
    ------
    IntakeError
        If the file cannot be read at all; the caller then notes the refusal.
    """
    before = receipts.by_sha(cursor, incoming.sha256)
    if before is not None:
        return receipts.as_known(before)
    text = _toml_text(incoming)
    if text is None:
        return _receive_rows(cursor, incoming, profile)
    if catalogue_file.is_catalogue(text):
        return _receive_catalogue(cursor, incoming, text)
    if is_profile(text):
        return _receive_profile(cursor, incoming, text)
    raise UnreadableFile(
        "it is neither a catalogue nor a source profile.",
        where=incoming.name,
        remedy="See the README for what a catalogue and a source profile look like.",
    )


def check_again(cursor: Cursor, receipt: str, *, by: Actor) -> Receipt:
    """Read a received file once more for the rows that still wait, with what is known now.

    Returns
    -------
    Receipt
        Of this reading: rows are those that waited, held those that still do.
    """
    return _checked(cursor, receipt, by=by)


def check_all_again(cursor: Cursor, *, by: Actor) -> list[Receipt]:
    """Check every file of which rows wait, oldest first, until nothing more can be taken in.

    A lot that one file announces may be what rows of many others wait for.

    Returns
    -------
    list of Receipt
        Of every reading that took something in.
    """
    taken: list[Receipt] = []
    while True:
        waiting = receipts.held(cursor)["receipt"].unique().tolist()
        checked = [_checked(cursor, receipt, by=by) for receipt in waiting]
        settled = [one for one in checked if one.rows > one.held]
        if not settled:
            return taken
        taken += settled


def _checked(cursor: Cursor, receipt: str, *, by: Actor) -> Receipt:
    waiting = receipts.held(cursor, receipt)["source_row"]
    checked, _, version = _settled(cursor, receipt, waiting, by=by, reason="checked again")
    _record(
        cursor,
        by=by,
        action="checked again",
        receipt=receipt,
        name=checked.name,
        rows=checked.rows - checked.held,
        version=version,
    )
    return checked


def mend(cursor: Cursor, wanted: Mend) -> tuple[Receipt, Sorted]:
    """Put new texts into cells of held rows, and check those rows again.

    Returns
    -------
    Receipt, Sorted
        Of this reading: rows are those mended, held those that still wait, and for what.

    Raises
    ------
    InvalidInput
        If no reason, row or cell is given.
    UnknownName
        If a row does not wait, or has no such cell.
    """
    mending.record(cursor, wanted)
    by, reason = wanted.by, wanted.reason.strip()
    rows = pd.Series(wanted.rows)
    checked, fate, version = _settled(cursor, wanted.receipt, rows, by=by, reason="mended")
    _record(
        cursor,
        by=by,
        action=mending.ACTION,
        receipt=wanted.receipt,
        name=checked.name,
        rows=list(wanted.rows),
        cells=dict(wanted.cells),
        reason=reason,
        settled=checked.rows - checked.held,
        version=version,
    )
    return checked, fate


def confirm(cursor: Cursor, wanted: Confirmation) -> Receipt:
    """Take in held rows that a person found to be right as they stand.

    Returns
    -------
    Receipt
        Of this reading: rows are those confirmed, held those that wait for something else now.

    Raises
    ------
    InvalidInput
        If no reason or row is given, or a row waits for what no person can confirm.
    UnknownName
        If a row does not wait.
    """
    confirming.record(cursor, wanted)
    by, reason = wanted.by, wanted.reason.strip()
    rows = pd.Series(wanted.rows)
    checked, _, version = _settled(cursor, wanted.receipt, rows, by=by, reason="found to be right")
    _record(
        cursor,
        by=by,
        action=confirming.ACTION,
        receipt=wanted.receipt,
        name=checked.name,
        rows=list(wanted.rows),
        reason=reason,
        settled=checked.rows - checked.held,
        version=version,
    )
    return checked


def _settled(
    cursor: Cursor, receipt: str, waiting: pd.Series, *, by: Actor, reason: str
) -> tuple[Receipt, Sorted, int]:
    """Take in what can be of some waiting rows, by a version of the file's profile."""
    name, content, profile, version = receipts.content(cursor, receipt)
    parts = read_again(cursor, content, profile=profile, version=version)
    batch = interpreted(cursor, mending.mended(cursor, receipt, parts), receipt=receipt)
    rows = batch.rows[batch.rows.isin(waiting)]
    fate = sort_out(cursor, only(batch, rows))
    _keep(cursor, fate, receipt)
    alarms.keep(cursor, fate.alarms, receipt=receipt)
    settled = rows.difference(fate.held.index).tolist()
    receipts.end(cursor, receipt, settled, how="taken in", by=by.name, reason=reason)
    again = Incoming(name=name, content=content, by=by)
    newest = parts[0].profile.version
    return _receipt(cursor, again, profile=profile, rows=rows, fate=fate), fate, newest


def preview(cursor: Cursor, incoming: Incoming, *, profile: str | None) -> tuple[Receipt, Sorted]:
    """What `receive` would do with a file of rows, without doing it."""
    source, rows, fate = _told(cursor, incoming, profile)
    return _receipt(cursor, incoming, profile=source.profile, rows=rows, fate=fate), fate


def refusal(cursor: Cursor, incoming: Incoming, problem: IntakeError) -> None:
    """The only trace of a file that could not be read."""
    audit.record(
        cursor,
        actor=incoming.by.name,
        action="refused a file",
        subject=incoming.name,
        detail={
            "sha256": incoming.sha256,
            "reason": str(problem),
            "by": incoming.by.told(),
        },
    )


def _toml_text(incoming: Incoming) -> str | None:
    if not incoming.name.lower().endswith(".toml"):
        return None
    refuse_large(len(incoming.content), where=incoming.name, refusal=UnreadableFile)
    try:
        return incoming.content.decode("utf-8")
    except UnicodeDecodeError as problem:
        raise UnreadableFile(
            "it is not UTF-8 text.", where=incoming.name, remedy="Save it as UTF-8."
        ) from problem


def _receive_catalogue(cursor: Cursor, incoming: Incoming, text: str) -> Receipt:
    parsed = catalogue_file.parse(text, known=catalogue.load(cursor))
    kept = catalogue.save(cursor, parsed, receipt=incoming.receipt, by=incoming.by.person)
    return _receive_entries(
        cursor, incoming, kind="catalogue", stored=kept.stored, known=kept.known
    )


def _receive_profile(cursor: Cursor, incoming: Incoming, text: str) -> Receipt:
    profiles.save(cursor, text, receipt=incoming.receipt)
    return _receive_entries(cursor, incoming, kind="profile", stored=1, known=0)


def _receive_entries(
    cursor: Cursor, incoming: Incoming, *, kind: str, stored: int, known: int
) -> Receipt:
    nothing = pd.Index([], dtype="int64")
    receipt = replace(
        _receipt(cursor, incoming, profile="", rows=nothing, fate=None),
        kind=kind,
        rows=stored + known,
        stored=stored,
        known=known,
    )
    receipts.insert(cursor, receipt, content=incoming.content, version=0)
    _record_receipt(cursor, receipt, by=incoming.by)
    return receipt


def _receive_rows(cursor: Cursor, incoming: Incoming, profile: str | None) -> Receipt:
    receipt, source = _take_in(cursor, incoming, profile)
    # What the rows of a long file have left free goes back to the system: the engine, whose memory
    # is its own, needs as much again to keep the file and to seal what it brought.
    pa.default_memory_pool().release_unused()
    receipts.insert(cursor, receipt, content=incoming.content, version=source.version)
    _record_receipt(cursor, receipt, by=incoming.by)
    if receipt.held:
        trusted = source.corrects_within_days
        changed_results.by_source(cursor, receipt.receipt, within_days=trusted, by=incoming.by)
    return receipt


def _take_in(
    cursor: Cursor, incoming: Incoming, profile: str | None
) -> tuple[Receipt, SourceProfile]:
    """Keep what a file's rows say, with the profile they were read by.

    The rows in memory end here, before what was kept of them is read again for its seal.
    """
    source, rows, fate = _told(cursor, incoming, profile)
    receipt = _receipt(cursor, incoming, profile=source.profile, rows=rows, fate=fate)
    _keep(cursor, fate, receipt.receipt)
    _hold(cursor, fate.held, receipt.receipt)
    alarms.keep(cursor, fate.alarms, receipt=receipt.receipt)
    return receipt, source


def _told(
    cursor: Cursor, incoming: Incoming, profile: str | None
) -> tuple[SourceProfile, pd.Index, Sorted]:
    """The rows of a file and the fate of each; the cells that they were end here."""
    parts = read_by(cursor, incoming.content, profile=profile, where=incoming.name)
    source = parts[0].profile
    batch = interpreted(cursor, parts, receipt=incoming.receipt)
    del parts
    return source, batch.rows, sort_out(cursor, batch)


def _keep(cursor: Cursor, fate: Sorted, receipt: str) -> None:
    lots.insert(cursor, fate.lots, receipt=receipt)
    results.insert(cursor, fate.results, receipt=receipt)
    dispositions.insert(cursor, fate.decisions, receipt=receipt)


def _hold(cursor: Cursor, held: pd.DataFrame, receipt: str) -> None:
    rows.append(cursor, "held_row", held.reset_index().assign(receipt=receipt))


def _receipt(
    cursor: Cursor, incoming: Incoming, *, profile: str, rows: pd.Index, fate: Sorted | None
) -> Receipt:
    stored = 0 if fate is None else len(fate.stored)
    held = 0 if fate is None else len(fate.held)
    return Receipt(
        receipt=incoming.receipt,
        name=incoming.name,
        sha256=incoming.sha256,
        kind="rows",
        profile=profile,
        received_by=incoming.by.name,
        received_at=audit.moment(cursor),
        rows=len(rows),
        stored=stored,
        held=held,
        known=len(rows) - stored - held,
        results=0 if fate is None else len(fate.results),
        created_lots=() if fate is None else tuple(fate.lots["lot"]),
    )


def _record_receipt(cursor: Cursor, receipt: Receipt, *, by: Actor) -> None:
    _record(
        cursor,
        by=by,
        action="received",
        receipt=receipt.receipt,
        name=receipt.name,
        sha256=receipt.sha256,
        kind=receipt.kind,
        rows=receipt.rows,
        stored=receipt.stored,
        held=receipt.held,
        known=receipt.known,
    )


def _record(cursor: Cursor, *, by: Actor, action: str, receipt: str, **detail: object) -> None:
    audit.record(
        cursor,
        actor=by.name,
        action=action,
        subject=receipt,
        detail=detail | {"by": by.told()},
    )


def original_row(cursor: Cursor, receipt: str, source_row: int) -> dict[str, str]:
    """The cells of one row of a received file, by header, as they came."""
    _, content, profile, version = receipts.content(cursor, receipt)
    parts = read_as(cursor, content, profile=profile, version=version)
    mine = next(one.table.cells for one in parts if source_row in one.table.cells.index)
    told: dict[str, str] = json.loads(originals(mine, pd.Index([source_row])).iloc[0])
    return told
