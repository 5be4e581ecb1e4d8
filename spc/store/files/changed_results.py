"""A held row that says another value for a result: old and new, what it would change, and the deed.

The new result names the one that it supersedes.  Both stay; the new one counts.
"""

import hashlib
from collections.abc import Hashable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

import pandas as pd

from spc.errors import InvalidInput, UnknownName
from spc.intake.checks.novelty import CHANGED, KNOWN
from spc.store.file.cursors import Cursor
from spc.store.files import mending
from spc.store.files.layouts import read_again
from spc.store.files.sorting import CHANGED_VALUE, interpreted, only
from spc.store.files.withdrawals import Consequences, judged_otherwise
from spc.store.lots import dispositions, lots, results
from spc.store.people import Actor
from spc.store.record import audit, receipts

ACTION: Final = "corrected results"

# Results that stand, and the text that each would be replaced by.
OLD: Final = """
    select result, identity, reading_text, reading_unit, value_low, value_high, unit
    from current_result
    where list_contains($identities, identity)
"""


# Results that came by another profile, or too long before the correction.
OF_OTHERS: Final = """
    select result.result
    from result
    join receipt as first using (receipt)
    join receipt as second on second.receipt = $receipt
    where list_contains($results, result.result)
      and (
          first.profile <> second.profile
          or second.received_at > first.received_at + to_days($days)
      )
"""

# Corrections of one lot's results: what stood, what took its place, and who, when and why.
OF_LOT: Final = """
    select
        fresh.characteristic, fresh.method, fresh.sample,
        trim(old.reading_text || ' ' || old.reading_unit)     as was,
        trim(fresh.reading_text || ' ' || fresh.reading_unit) as now,
        fresh.superseding_reason                              as reason,
        held_row_end.ended_by                                 as corrected_by,
        held_row_end.ended_at                                 as corrected_at,
        receipt.name                                          as file
    from result as fresh
    join result as old on old.result = fresh.supersedes
    join receipt on receipt.receipt = fresh.receipt
    left join held_row_end
           on held_row_end.receipt = fresh.receipt and held_row_end.source_row = fresh.source_row
    where fresh.lot = $lot
    order by fresh.entry, fresh.result
"""


def of_lot(cursor: Cursor, lot: str) -> pd.DataFrame:
    """The corrected results of one lot: old and new, by whom, when (UTC) and why."""
    return cursor.execute(OF_LOT, {"lot": lot}).df()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Correction:
    """What held rows of one file say otherwise than results that stand.

    Attributes
    ----------
    name
        Of the file.
    pairs
        One line a result: source_row, lot, characteristic, method, sample, replicate, result (the
        one that stands), was and now (readings with their units), value_was, value_now (in unit).
    decided
        The lots among them that are decided: they need a second person.
    consequences
        What would be judged and predicted otherwise; None where nobody asked.
    """

    receipt: str
    name: str
    pairs: pd.DataFrame
    decided: tuple[str, ...]
    consequences: Consequences | None = None

    @property
    def subject(self) -> str:
        """What a signature is about."""
        rows = sorted(set(self.pairs["source_row"]))
        which = ", ".join(str(row) for row in rows)
        return f"row{'s' if len(rows) > 1 else ''} {which} of {self.name}"


def would_change(cursor: Cursor, receipt: str, rows: Sequence[int]) -> Correction:
    """Old and new side by side, with what would be judged otherwise.

    The cursor's transaction has corrected them afterwards; the caller rolls it back.
    """
    told, fresh = told_of(cursor, receipt, rows)
    own = sorted(told.pairs["lot"].unique())
    follows = judged_otherwise(
        cursor,
        told.pairs["result"].tolist(),
        own,
        lambda: results.insert(cursor, fresh, receipt=receipt, reason="supposed"),
    )
    return Correction(
        receipt=receipt,
        name=told.name,
        pairs=told.pairs,
        decided=told.decided,
        consequences=follows,
    )


def correct(
    cursor: Cursor,
    receipt: str,
    rows: Sequence[int],
    *,
    reason: str,
    by: Actor,
    names: tuple[str, str],
) -> None:
    """Let what held rows say supersede the results that stand; both stay in the record.

    Parameters
    ----------
    by, names
        See `invalidations.invalidate`.
    """
    told, fresh = told_of(cursor, receipt, rows)
    first, beside = names
    results.insert(cursor, fresh, receipt=receipt, reason=reason.strip())
    receipts.end(cursor, receipt, list(rows), how="taken in", by=first, reason=reason.strip())
    audit.record(
        cursor,
        actor=by.name,
        action=ACTION,
        subject=receipt,
        detail={
            "rows": [int(row) for row in rows],
            "superseded": told.pairs["result"].tolist(),
            "what": [in_words(one) for one in told.pairs.to_dict("records")],
            "reason": reason.strip(),
            "second_person": beside,
            "by": by.told(),
        },
    )


def by_source(cursor: Cursor, receipt: str, *, within_days: int, by: Actor) -> None:
    """Let a source that is trusted to correct itself supersede what it said a short time ago.

    Parameters
    ----------
    within_days
        Since the result that stands came in; zero trusts no source.

    Notes
    -----
    Only where the result came by the same profile and the lot is not decided; every other row
    waits for a person.
    """
    if not within_days:
        return
    waiting = receipts.held(cursor, receipt)
    for row in waiting.loc[waiting["code"] == CHANGED_VALUE, "source_row"].tolist():
        try:
            told, _ = told_of(cursor, receipt, [row])
        except InvalidInput:
            continue
        trusted = {"results": told.pairs["result"].tolist(), "receipt": receipt}
        since = [*cursor.execute(OF_OTHERS, {**trusted, "days": within_days}).fetchall()]
        if told.decided or since:
            continue
        why = f"corrected by its source within {within_days} days, as its profile states"
        correct(cursor, receipt, [row], reason=why, by=by, names=(by.name, ""))


def told_of(cursor: Cursor, receipt: str, rows: Sequence[int]) -> tuple[Correction, pd.DataFrame]:
    """Old and new of some held rows, and the results to insert."""
    name = _refuse_other_waits(cursor, receipt, rows)
    _, content, profile, version = receipts.content(cursor, receipt)
    parts = read_again(cursor, content, profile=profile, version=version)
    batch = interpreted(cursor, mending.mended(cursor, receipt, parts), receipt=receipt)
    said = only(batch, batch.rows[batch.rows.isin(list(rows))])
    fates = [lots.status(cursor, said.lots), dispositions.status(cursor, said.decisions)]
    if not said.held.empty or (pd.concat(fates) == CHANGED).any():
        raise _refusal("it says more that contradicts what is known.", receipt)
    wanted = results.as_kept(cursor, said.results)
    fate = results.status(cursor, wanted)
    mine = wanted[(fate != KNOWN).to_numpy()]
    changed = mine[(fate[fate != KNOWN] == CHANGED).to_numpy()]
    old = cursor.execute(OLD, {"identities": changed["identity"].astype("str").tolist()}).df()
    pairs = changed.rename_axis("source_row").reset_index().astype({"identity": "str"})
    pairs = pairs.merge(old, on="identity", suffixes=("_now", ""))
    if pairs.empty or len(pairs) != len(changed) or pairs["result"].duplicated().any():
        raise _refusal("no single result stands that it would correct.", receipt)
    by_identity = pairs.set_index("identity")["result"]
    fresh = mine.assign(supersedes=mine["identity"].astype("str").map(by_identity))
    decided = tuple(
        lot for lot in sorted(pairs["lot"].unique()) if dispositions.latest(cursor, lot)
    )
    told = Correction(receipt=receipt, name=name, pairs=_side_by_side(pairs), decided=decided)
    return told, fresh


def _side_by_side(pairs: pd.DataFrame) -> pd.DataFrame:
    frame = pairs[
        ["source_row", "lot", "characteristic", "method", "sample", "replicate", "result"]
    ].copy()
    frame["was"] = (pairs["reading_text"] + " " + pairs["reading_unit"]).str.strip()
    now = pairs["reading_text_now"].astype("str") + " " + pairs["reading_unit_now"].astype("str")
    frame["now"] = now.str.strip()
    frame["value_was"] = pairs["value_high"].to_numpy()
    frame["value_now"] = pairs["value_high_now"].to_numpy()
    frame["unit"] = pairs["unit"].to_numpy()
    return frame


def _refuse_other_waits(cursor: Cursor, receipt: str, rows: Sequence[int]) -> str:
    waiting = receipts.held(cursor, receipt).set_index("source_row")
    for row in rows:
        if row not in waiting.index:
            raise UnknownName("held row", f"{row} of {receipt}", known=[])
        if waiting.loc[row, "code"] != CHANGED_VALUE:
            raise _refusal(f"row {row} does not wait for a changed value.", receipt)
    if not rows or len(set(rows)) != len(rows):
        raise _refusal("name each row once, and at least one.", receipt)
    return receipts.content(cursor, receipt)[0]


def _refusal(told: str, receipt: str) -> InvalidInput:
    return InvalidInput(
        told,
        where=f"correction by {receipt}",
        remedy="Check the file again; mend or dismiss what then still waits.",
    )


def state(told: Correction) -> dict[str, Any]:
    """What a signature rests on: the results that stand, and which lots are decided."""
    standing = "\n".join(sorted(told.pairs["result"]))
    return {
        "standing": hashlib.sha256(standing.encode()).hexdigest()[:16],
        "decided": list(told.decided),
    }


def in_words(one: Mapping[Hashable, Any]) -> str:
    """One line of `Correction.pairs` as a sentence."""
    sample = one["sample"] or "not named"
    return (
        f"{one['characteristic']} by {one['method']}, lot {one['lot']}, sample {sample}:"
        f" {one['now']} instead of {one['was']}"
    )
