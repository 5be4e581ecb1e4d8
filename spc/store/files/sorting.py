"""A file's rows, each told apart: new, known, or held."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import pandas as pd

from spc.intake import Batch, Known, interpret
from spc.intake.checks.holds import originals_of
from spc.intake.checks.novelty import CHANGED, NEW
from spc.intake.interpret import together, unread
from spc.intake.shapes.blocks import Part
from spc.intake.table.columns import joined
from spc.store.catalogue import catalogue
from spc.store.file.cursors import Cursor
from spc.store.files import confirming
from spc.store.files.usual import usual
from spc.store.lots import dispositions, history, lots, results
from spc.store.record import audit, receipts

CHANGED_VALUE: Final = "changed-value"
_CHANGED_REMEDY: Final = (
    "If the new one is right, have the source confirm it and accept the correction on Intake; the"
    " first stands until then."
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sorted:
    """A batch with each row's fate: what is stored, and every row that is held.

    Attributes
    ----------
    lots, results, decisions
        Only what is new.
    held
        Also the rows that contradict what is known.
    alarms
        What held rows say against the safety of a lot; see `Batch`.
    stored : shape (rows that brought something new,)
    """

    lots: pd.DataFrame
    results: pd.DataFrame
    decisions: pd.DataFrame
    held: pd.DataFrame
    alarms: pd.DataFrame
    stored: pd.Index


def interpreted(cursor: Cursor, parts: Sequence[Part], *, receipt: str) -> Batch:
    """What the tables of a file say, with what the store holds now."""
    described = catalogue.load(cursor)
    controls = [one.control for one in described.controls]
    known = Known(
        catalogue=described,
        lots=[*lots.names(cursor), *controls],
        now=np.datetime64(audit.moment(cursor)),
        awaited=receipts.awaited(cursor),
        usual=usual(cursor, lots=_named(parts, "lot"), materials=_materials(parts)),
        confirmed=confirming.of_receipt(cursor, receipt),
    )
    batches = []
    for part in parts:
        batch = unread(part.table, part.stranger) if part.stranger else _read(part, known)
        # What one table announces, the tables below it may refer to.
        known = replace(known, lots=[*known.lots, *batch.lots["lot"]])
        batches.append(batch)
    return together(batches)


def _read(part: Part, known: Known) -> Batch:
    return interpret(part.table, part.profile, known)


def _named(parts: Sequence[Part], meaning: str) -> list[str]:
    """Every lot that a file names, once each."""
    read = [one for one in parts if not one.stranger]
    found = [joined(one.table.cells, one.profile.columns[meaning]) for one in read]
    return sorted({name for texts in found for name in texts.unique()})


def _materials(parts: Sequence[Part]) -> set[str]:
    """Every material that a file announces, by its name in the catalogue."""
    found: set[str] = set()
    for one in parts:
        if one.stranger or "material" not in one.profile.lots:
            continue
        spelled = one.profile.spellings.get("material", {})
        said = joined(one.table.cells, one.profile.lots["material"]).unique()
        found |= {spelled.get(name, name) for name in said}
    return found


def sort_out(cursor: Cursor, batch: Batch) -> Sorted:
    """Tell new from known, and hold the rows that contradict what is known.

    A row that is held has said nothing, so the others are compared again without it: what it alone
    said first would otherwise count as known and be lost.
    """
    batch = replace(batch, results=results.as_kept(cursor, batch.results))
    doubtful = _doubtful(cursor, batch)
    refused = history.refused(cursor, _new_decisions(cursor, batch), against=_against(batch.alarms))
    doubtful = doubtful.difference(refused.index)
    taken, contradicting = only(batch, doubtful), batch.rows[:0]
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
        taken = only(batch, doubtful.difference(contradicting))
    heard = only(batch, batch.rows.difference(refused.index)) if len(refused) else batch
    fresh = {name: _fresh(getattr(heard, name), doubtful, fate) for name, fate in fates.items()}
    held = pd.concat(
        [batch.held, _contradictions(batch, contradicting), _not_heard(batch, refused)]
    ).sort_index()
    stored = fresh["lots"].index.union(fresh["results"].index).union(fresh["decisions"].index)
    return Sorted(
        **fresh,
        held=held,
        alarms=batch.alarms[np.isin(batch.alarms.index, held.index)],
        stored=stored.unique(),
    )


def _against(alarms: pd.DataFrame) -> dict[str, str]:
    """By lot, the first thing that the file itself says against its safety."""
    first = alarms.drop_duplicates("lot")
    return dict(zip(first["lot"], first["sentence"], strict=True))


def _doubtful(cursor: Cursor, batch: Batch) -> pd.Index:
    """The rows that may say something known; of a long file of results these are few.

    Every other row has only results that nobody else says, so that nothing depends on it.
    """
    repeated = results.said_before(cursor, batch.results)
    return batch.lots.index.union(batch.decisions.index).union(repeated)


def _fresh(said: pd.DataFrame, doubtful: pd.Index, fate: pd.Series) -> pd.DataFrame:
    """The lines that say something new: those in no doubt, and those found to be new."""
    new = ~np.isin(said.index, doubtful)
    new[np.isin(said.index, fate.index)] = fate == NEW
    return said if new.all() else said[new]


def _contradictions(batch: Batch, rows: pd.Index) -> pd.DataFrame:
    frame = pd.DataFrame(
        {
            "code": CHANGED_VALUE,
            "reason": "The row says something else than the one already taken in for the same"
            " lot, sample and time.",
            "remedy": _CHANGED_REMEDY,
        },
        index=pd.Index(rows, dtype="int64", name="source_row"),
        dtype="str",
    )
    frame["lot"] = batch.lot[np.isin(batch.lot.index, rows)].to_numpy()
    frame["original"] = originals_of(batch.original, rows)
    return frame


def _new_decisions(cursor: Cursor, batch: Batch) -> pd.DataFrame:
    """The decisions of a batch that the store does not know yet."""
    if batch.decisions.empty:
        return batch.decisions
    return batch.decisions[(dispositions.status(cursor, batch.decisions) == NEW).to_numpy()]


def _not_heard(batch: Batch, refused: pd.DataFrame) -> pd.DataFrame:
    """Held rows of decisions that do not come in as history."""
    frame = refused.rename_axis("source_row").astype("str")
    return frame.assign(original=originals_of(batch.original, frame.index))


def only(batch: Batch, rows: pd.Index) -> Batch:
    """What a batch says in some of its rows."""
    return replace(
        batch,
        rows=rows,
        lots=batch.lots[np.isin(batch.lots.index, rows)],
        results=batch.results[np.isin(batch.results.index, rows)],
        decisions=batch.decisions[np.isin(batch.decisions.index, rows)],
        held=batch.held[np.isin(batch.held.index, rows)],
        alarms=batch.alarms[np.isin(batch.alarms.index, rows)],
    )
