"""Taking in a file: one transaction, and rows in = stored + held + known."""

import hashlib
import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd

from spc.errors import IntakeError, UnknownName, UnreadableFile
from spc.intake import Batch, Known, SourceProfile, interpret, read, recognise
from spc.intake import catalogue as catalogue_file
from spc.intake import profile as profile_file
from spc.intake.holds import COLUMNS, originals
from spc.intake.novelty import CHANGED, NEW
from spc.intake.readers import Table
from spc.store import audit, catalogue, dispositions, lots, profiles, receipts, results
from spc.store.connection import Cursor, now
from spc.store.digests import digests
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
    """
    name, content, profile, version = receipts.content(cursor, receipt)
    waiting = pd.Index(receipts.held(cursor, receipt)["source_row"], name="source_row")
    source = profiles.version(cursor, profile, version)
    batch = _interpreted(cursor, read(content, source.form), source)
    fate = _sorted(cursor, _only(batch, waiting))
    _keep(cursor, fate, receipt)
    settled = [int(row) for row in waiting if row not in fate.held.index]
    receipts.end(cursor, receipt, settled, how="taken in", by=by, reason="checked again")
    _record(cursor, by=by, action="checked again", receipt=receipt, name=name, rows=len(settled))
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
    stored = profiles.save(cursor, text, receipt=incoming.receipt)
    return _receive_entries(cursor, incoming, kind="profile", stored=stored, known=1 - stored)


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
    fitting = [pair for pair in tables if pair[0].headers <= set(pair[1].headers)]
    if fitting:
        return max(fitting, key=lambda pair: len(pair[0].headers))
    nearest = max(tables, key=lambda pair: _share(*pair), default=None)
    # None fits, so this raises, and says what the nearest lacks.
    source = recognise(nearest[1].headers if nearest else (), [pair[0] for pair in tables])
    return source, read(incoming.content, source.form)


def _share(source: SourceProfile, table: Table) -> float:
    return len(source.headers & set(table.headers)) / len(source.headers)


def _readable(
    incoming: Incoming, known: Sequence[SourceProfile]
) -> list[tuple[SourceProfile, Table]]:
    """The file read by every layout that can read it."""
    tables, problems = [], []
    for source in known:
        try:
            tables.append((source, read(incoming.content, source.form)))
        except UnreadableFile as problem:
            problems.append(problem)
    if tables or not problems:
        return tables
    raise UnreadableFile(
        problems[0].what if len(set(map(str, problems))) == 1 else "no source profile can read it.",
        where=incoming.name,
        remedy=problems[0].remedy,
    )


def _interpreted(cursor: Cursor, table: Table, source: SourceProfile) -> Batch:
    known = Known(
        catalogue=catalogue.load(cursor),
        lots=lots.names(cursor),
        now=np.datetime64(now()),
    )
    return interpret(table, source, known)


def _sorted(cursor: Cursor, batch: Batch) -> Sorted:
    """Tell new from known, and hold the rows that contradict what is known."""
    fates = {
        "lots": lots.status(cursor, batch.lots),
        "results": results.status(cursor, batch.results),
        "decisions": dispositions.status(cursor, batch.decisions),
    }
    every = pd.concat(fates.values())
    contradicting = every.index[every == CHANGED].unique()
    contradictions = _contradictions(batch, contradicting)
    fresh: Callable[[str], pd.DataFrame] = lambda group: _fresh(  # noqa: E731
        getattr(batch, group), fates[group], contradicting
    )
    stored = every.index[(every == NEW) & ~every.index.isin(contradicting)].unique()
    return Sorted(
        lots=fresh("lots"),
        results=fresh("results"),
        decisions=fresh("decisions"),
        held=pd.concat([batch.held, contradictions]).sort_index(),
        stored=stored,
    )


def _fresh(said: pd.DataFrame, status: pd.Series, contradicting: pd.Index) -> pd.DataFrame:
    return said[(status == NEW).to_numpy() & ~said.index.isin(contradicting)]


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
