"""Baselines: the lots that a stream's limits rest on, frozen, versioned, and staged."""

import json
import uuid
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Final

import pandas as pd

from spc.charts import DEFAULT_RULES, RULES
from spc.charts.stages import KINDS, Kind
from spc.errors import InvalidInput, TooFewLots
from spc.store.file.cursors import Cursor, records
from spc.store.people.proofs import Actor
from spc.store.record import audit, rows
from spc.store.streams.streams import KEY, StreamKey

FEWEST_LOTS: Final = 2

EVERY: Final = """
    select *
    from baseline
    order by material, supplier, characteristic, method, basis, version
"""

OF_STREAM: Final = """
    select version, lots, left_out, applies_from, restarts, kind, rules, frozen_by, reason,
           frozen_at
    from baseline
    where material = $material and supplier = $supplier
      and characteristic = $characteristic and method = $method and basis = $basis
    order by version desc
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Which lots say what is usual, and from where on.

    Attributes
    ----------
    lots
        The lots the limits rest on.
    left_out
        Lot to the reason for which it is no part of the baseline.
    applies_from
        The first lot judged by this version; empty for the stream's first.
    restarts
        Whether patterns begin anew there, as at a new crop or method.
    kind
        How the limits are set, one of `charts.stages.KINDS`.
    rules
        Names out of `charts.RULES` that signal.
    """

    lots: tuple[str, ...]
    left_out: Mapping[str, str] = field(default_factory=dict)
    applies_from: str = ""
    restarts: bool = False
    kind: Kind = "moving range"
    rules: tuple[str, ...] = DEFAULT_RULES


def frozen(cursor: Cursor) -> dict[StreamKey, list[Choice]]:
    """The versions of every stream whose baseline a person froze, oldest first."""
    found: dict[StreamKey, list[Choice]] = {}
    for row in records(cursor, EVERY):
        key = StreamKey(**{name: row[name] for name in KEY})
        found.setdefault(key, []).append(_choice(row))
    return found


def history(cursor: Cursor, key: StreamKey) -> pd.DataFrame:
    """Every version of a stream's baseline, newest first."""
    return cursor.execute(OF_STREAM, asdict(key)).df()


def freeze(cursor: Cursor, key: StreamKey, choice: Choice, *, by: Actor, reason: str) -> int:
    """Freeze the lots of a stream's baseline as its next version.

    Raises
    ------
    InvalidInput
        If the reason, or the reason for leaving out a lot, is empty, or a kind or rule is not
        known.
    TooFewLots
        If fewer than two lots are named.
    """
    _check(choice, reason)
    versions = history(cursor, key)["version"]
    version = 1 if versions.empty else int(versions.max()) + 1
    row = {
        "baseline": str(uuid.uuid4()),
        **asdict(key),
        "version": version,
        "lots": json.dumps(choice.lots),
        "left_out": json.dumps(dict(choice.left_out)),
        "applies_from": choice.applies_from,
        "restarts": choice.restarts,
        "kind": choice.kind,
        "rules": json.dumps(choice.rules),
        "frozen_by": by.name,
        "reason": reason.strip(),
        "frozen_at": audit.moment(cursor),
    }
    rows.insert(cursor, "baseline", [row])
    audit.record(
        cursor,
        actor=by.name,
        action="froze a baseline",
        subject=key.name,
        detail=_stated(choice, version=version, reason=reason.strip()) | {"by": by.told()},
    )
    return version


def _check(choice: Choice, reason: str) -> None:
    unsaid = [lot for lot, why in choice.left_out.items() if not why.strip()]
    if not reason.strip() or unsaid:
        raise InvalidInput(
            "a reason, and a reason for each lot left out, are needed.",
            where="baseline",
            remedy="Say why; the limits will be asked about.",
        )
    if len(choice.lots) < FEWEST_LOTS:
        raise TooFewLots(needed=FEWEST_LOTS, given=len(choice.lots), where="baseline")
    strange: Sequence[str] = [name for name in choice.rules if name not in RULES]
    if choice.kind not in KINDS or strange or not choice.rules:
        raise InvalidInput(
            f"{(*strange, choice.kind)[0]!r} is no kind of limits, or no run rule is chosen.",
            where="baseline",
            remedy=f"Kinds are {', '.join(KINDS)}; rules are {', '.join(RULES)}.",
        )


def _choice(row: Mapping[str, Any]) -> Choice:
    return Choice(
        lots=tuple(json.loads(row["lots"])),
        left_out=json.loads(row["left_out"]),
        applies_from=row["applies_from"],
        restarts=row["restarts"],
        kind=row["kind"],
        rules=tuple(json.loads(row["rules"])),
    )


def _stated(choice: Choice, *, version: int, reason: str) -> dict[str, Any]:
    return {
        **asdict(choice),
        "lots": list(choice.lots),
        "rules": list(choice.rules),
        "left_out": dict(choice.left_out),
        "version": version,
        "reason": reason,
    }
