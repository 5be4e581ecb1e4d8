"""Taking in a file: one transaction, and rows in = stored + held + known."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd

from spc.errors import IntakeError, InvalidInput, UnknownName, UnreadableFile
from spc.intake import Batch, Known, SourceProfile, interpret, read, recognise
from spc.intake import catalogue as catalogue_file
from spc.intake import profile as profile_file
from spc.intake.holds import COLUMNS, originals
from spc.intake.novelty import CHANGED, NEW
from spc.intake.readers import Table
from spc.store import audit, catalogue, dispositions, lots, profiles, receipts, results
from spc.store.connection import Cursor, now
from spc.store.digests import digests, entries_digest
from spc.store.receipts import Receipt

_CHANGED_REMEDY: Final = (
    "If the new one is right, have the source confirm the correction; the first stands until then."
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Incoming:
    """A file as it was handed over."""

    name: str
    content: bytes
    by: str

    @property
    def sha256(self) -> str:
        """Digest of the bytes."""
        return hashlib.sha256(self.content).hexdigest()

    @property
    def receipt(self) -> str:
        """The name of its receipt."""
        return self.sha256[:12]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sorted:
    """A batch with each row's fate: what is stored, and every row that is held.

    Attributes
    ----------
    lots, results, decisions
        Only what is new.
    held
        Also the rows that contradict what is known.
    stored : shape (rows that brought something new,)
    """

    lots: pd.DataFrame
    results: pd.DataFrame
    decisions: pd.DataFrame
    held: pd.DataFrame
    stored: pd.Index


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
    if profile_file.is_profile(text):
        return _receive_profile(cursor, incoming, text)
    raise UnreadableFile(
        "it is neither a catalogue nor a source profile.",
        where=incoming.name,
        remedy="See the README for what a catalogue and a source profile look like.",
    )


def check_again(cursor: Cursor, receipt: str, *, by: str) -> Receipt:
    """Read a received file once more for the rows that still wait, with what is known now.

    Returns
    -------
    Receipt
        Of this reading: rows are those that waited, held those that still do.

    Raises
    ------
    InvalidInput
        If no name is given.
    """
    if not by.strip():
        raise InvalidInput(
            "a name is needed.", where="held rows", remedy="Say who has the file checked again."
        )
    name, content, profile, version = receipts.content(cursor, receipt)
    source, table = _read_again(cursor, content, profile=profile, version=version)
    batch = _interpreted(cursor, table, source)
    waiting = batch.rows[batch.rows.isin(receipts.held(cursor, receipt)["source_row"])]
    fate = _sorted(cursor, _only(batch, waiting))
    _keep(cursor, fate, receipt)
    settled = [int(row) for row in waiting if row not in fate.held.index]
    receipts.end(cursor, receipt, settled, how="taken in", by=by, reason="checked again")
    _record(
        cursor,
        by=by,
        action="checked again",
        receipt=receipt,
        name=name,
        rows=len(settled),
        version=source.version,
    )
    return _receipt(
        Incoming(name=name, content=content, by=by), profile=profile, rows=waiting, fate=fate
    )


def preview(cursor: Cursor, incoming: Incoming, *, profile: str | None) -> tuple[Receipt, Sorted]:
    """What `receive` would do with a file of rows, without doing it."""
    source, table = _read(cursor, incoming, profile)
    batch = _interpreted(cursor, table, source)
    fate = _sorted(cursor, batch)
    return _receipt(incoming, profile=source.profile, rows=batch.rows, fate=fate), fate


def refusal(cursor: Cursor, incoming: Incoming, problem: IntakeError) -> None:
    """The only trace of a file that could not be read."""
    audit.record(
        cursor,
        actor=incoming.by,
        action="refused a file",
        subject=incoming.name,
        detail={"sha256": incoming.sha256, "reason": str(problem)},
    )


def _toml_text(incoming: Incoming) -> str | None:
    if not incoming.name.lower().endswith(".toml"):
        return None
    try:
        return incoming.content.decode("utf-8")
    except UnicodeDecodeError as problem:
        raise UnreadableFile(
            "it is not UTF-8 text.", where=incoming.name, remedy="Save it as UTF-8."
        ) from problem


def _receive_catalogue(cursor: Cursor, incoming: Incoming, text: str) -> Receipt:
    parsed = catalogue_file.parse(text, known=catalogue.load(cursor))
    kept = catalogue.save(cursor, parsed, receipt=incoming.receipt)
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
        _receipt(incoming, profile="", rows=nothing, fate=None),
        kind=kind,
        rows=stored + known,
        stored=stored,
        known=known,
    )
    receipts.insert(cursor, receipt, content=incoming.content, version=0)
    _record_receipt(cursor, receipt)
    return receipt


def _receive_rows(cursor: Cursor, incoming: Incoming, profile: str | None) -> Receipt:
    source, table = _read(cursor, incoming, profile)
    batch = _interpreted(cursor, table, source)
    fate = _sorted(cursor, batch)
    receipt = _receipt(incoming, profile=source.profile, rows=batch.rows, fate=fate)
    _keep(cursor, fate, receipt.receipt)
    _hold(cursor, fate.held, receipt.receipt)
    receipts.insert(cursor, receipt, content=incoming.content, version=source.version)
    _record_receipt(cursor, receipt)
    return receipt


def _read(cursor: Cursor, incoming: Incoming, profile: str | None) -> tuple[SourceProfile, Table]:
    """The table by the profile named, or by the one whose header the file has."""
    known = profiles.load(cursor)
    if profile is not None:
        named = [one for one in known if one.profile == profile]
        if not named:
            raise UnknownName("source profile", profile, known=[one.profile for one in known])
        known = named
    tables = _readable(incoming, known)
    source, table = max(tables, key=lambda pair: (_share(*pair), len(pair[0].headers)))
    # If even the nearest does not fit, this raises, and says what it lacks.
    return recognise(table.headers, [source]), table


def _read_again(
    cursor: Cursor, content: bytes, *, profile: str, version: int
) -> tuple[SourceProfile, Table]:
    """The table by the newest version of its profile, or by its own if that no longer fits it."""
    first = profiles.version(cursor, profile, version)
    newest = next(one for one in profiles.load(cursor) if one.profile == profile)
    table = read(content, newest.form)
    if newest.headers <= set(table.headers):
        return newest, table
    return first, read(content, first.form)


def _share(source: SourceProfile, table: Table) -> float:
    return len(source.headers & set(table.headers)) / len(source.headers)


def _readable(
    incoming: Incoming, known: Sequence[SourceProfile]
) -> list[tuple[SourceProfile, Table]]:
    """The file read by every layout that can read it; at least one."""
    if not known:
        recognise((), known)
    tables, problems = [], []
    for source in known:
        try:
            tables.append((source, read(incoming.content, source.form)))
        except UnreadableFile as problem:
            problems.append(problem)
    if tables:
        return tables
    raise UnreadableFile(
        problems[0].what if len(set(map(str, problems))) == 1 else "no source profile can read it.",
        where=incoming.name,
        remedy=problems[0].remedy,
    )


def _interpreted(cursor: Cursor, table: Table, source: SourceProfile) -> Batch:
    described = catalogue.load(cursor)
    controls = [one.control for one in described.controls]
    known = Known(
        catalogue=described,
        lots=[*lots.names(cursor), *controls],
        now=np.datetime64(now()),
    )
    return interpret(table, source, known)


def _sorted(cursor: Cursor, batch: Batch) -> Sorted:
    """Tell new from known, and hold the rows that contradict what is known.

    A row that is held has said nothing, so the others are compared again without it: what it alone
    said first would otherwise count as known and be lost.
    """
    taken, contradicting = batch, batch.rows[:0]
    while True:
        fates = {
            "lots": lots.status(cursor, taken.lots),
            "results": results.status(cursor, taken.results),
            "decisions": dispositions.status(cursor, taken.decisions),
        }
        every = pd.concat(fates.values())
        changed = every.index[every == CHANGED].unique()
        if changed.empty:
            break
        contradicting = contradicting.union(changed)
        taken = _only(batch, batch.rows.difference(contradicting))
    return Sorted(
        lots=taken.lots[(fates["lots"] == NEW).to_numpy()],
        results=taken.results[(fates["results"] == NEW).to_numpy()],
        decisions=taken.decisions[(fates["decisions"] == NEW).to_numpy()],
        held=pd.concat([batch.held, _contradictions(batch, contradicting)]).sort_index(),
        stored=every.index[every == NEW].unique(),
    )


def _contradictions(batch: Batch, rows: pd.Index) -> pd.DataFrame:
    frame = pd.DataFrame(
        [
            (
                "changed-value",
                "The row says something else than the one already taken in for the same"
                " lot, sample and time.",
                _CHANGED_REMEDY,
            )
            for _ in rows
        ],
        columns=list(COLUMNS),
        index=pd.Index(rows, dtype="int64", name="source_row"),
        dtype="str",
    )
    frame["lot"] = batch.lot.loc[rows].to_numpy()
    frame["original"] = originals(batch.original, rows)
    return frame


def _only(batch: Batch, rows: pd.Index) -> Batch:
    return replace(
        batch,
        rows=rows,
        lots=batch.lots[batch.lots.index.isin(rows)],
        results=batch.results[batch.results.index.isin(rows)],
        decisions=batch.decisions[batch.decisions.index.isin(rows)],
        held=batch.held[batch.held.index.isin(rows)],
    )


def _keep(cursor: Cursor, fate: Sorted, receipt: str) -> None:
    lots.insert(cursor, fate.lots, receipt=receipt)
    results.insert(cursor, fate.results, receipt=receipt)
    dispositions.insert(cursor, fate.decisions, receipt=receipt)


def _hold(cursor: Cursor, held: pd.DataFrame, receipt: str) -> None:
    if held.empty:
        return
    cursor.register("fresh", held.reset_index().assign(receipt=receipt))
    cursor.execute("insert into held_row by name select * from fresh")
    cursor.unregister("fresh")


def _receipt(incoming: Incoming, *, profile: str, rows: pd.Index, fate: Sorted | None) -> Receipt:
    stored = 0 if fate is None else len(fate.stored)
    held = 0 if fate is None else len(fate.held)
    return Receipt(
        receipt=incoming.receipt,
        name=incoming.name,
        sha256=incoming.sha256,
        kind="rows",
        profile=profile,
        received_by=incoming.by,
        received_at=now(),
        rows=len(rows),
        stored=stored,
        held=held,
        known=len(rows) - stored - held,
        results=0 if fate is None else len(fate.results),
        created_lots=() if fate is None else tuple(fate.lots["lot"]),
    )


def _record_receipt(cursor: Cursor, receipt: Receipt) -> None:
    # What a catalogue says without versions does not stand in the name of one receipt.
    more = {"entries": entries_digest(cursor)} if receipt.kind == "catalogue" else {}
    _record(
        cursor,
        by=receipt.received_by,
        action="received",
        receipt=receipt.receipt,
        name=receipt.name,
        sha256=receipt.sha256,
        kind=receipt.kind,
        rows=receipt.rows,
        stored=receipt.stored,
        held=receipt.held,
        known=receipt.known,
        **more,
    )


def _record(cursor: Cursor, *, by: str, action: str, receipt: str, **detail: object) -> None:
    seal = digests(cursor, receipt).get(receipt, "")
    audit.record(
        cursor, actor=by, action=action, subject=receipt, detail={**detail, "digest": seal}
    )


def original_row(cursor: Cursor, receipt: str, source_row: int) -> dict[str, str]:
    """The cells of one row of a received file, by header, as they came."""
    _, content, profile, version = receipts.content(cursor, receipt)
    source = profiles.version(cursor, profile, version)
    cells = read(content, source.form).cells
    told: dict[str, str] = json.loads(originals(cells, [source_row])[0])
    return told
