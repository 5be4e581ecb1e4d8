"""What stands against making a blend: lots barred, gone, or measured anew since it was planned."""

import math
from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Final, TypeAlias

from spc.digits import written
from spc.store.blends import assays, barred, stock_moves
from spc.store.blends.bags import DUST, kilograms
from spc.store.blends.blend_records import Blend
from spc.store.blends.drafts import Draft
from spc.store.file.cursors import Cursor
from spc.store.lots.gathering import Gathered

# By lot and characteristic.
Evidence: TypeAlias = Mapping[str, Mapping[str, Mapping[str, Any]]]

FACTS: Final = ("mean", "uncertainty", "unit", "basis", "method", "bound")
# Two computations of one mean may differ in the last bits when the library under them changes.
_ROUNDING: Final = 1e-9


def against(cursor: Cursor, planned: Blend) -> list[str]:
    """What stands against making a blend now, a sentence each; empty if nothing does.

    Notes
    -----
    Lot means that changed count, by whatever cause: a new result, one made void, a method
    corrected.  Their uncertainties do not: those move a little with every other lot of the
    supplier.
    """
    found, now = unfit(cursor, planned.draft, blend=planned.blend)
    return [*found, *_changes(planned.evidence, now)]


def unfit(cursor: Cursor, draft: Draft, *, blend: str = "") -> tuple[list[str], Evidence]:
    """Lots of a recipe that may not be used or of which there is too little, a sentence each.

    Parameters
    ----------
    blend
        The blend it belongs to, whose own reservations do not stand against it.

    Returns
    -------
    sentences, evidence
        What stands against the recipe, and the lot means it rests on.

    Raises
    ------
    UnknownName
        If a lot is not in the store.
    """
    ruled = barred.ruled(cursor, draft.lots)
    held = stock_moves.holdings(cursor, draft.lots)
    found = [
        f"Lot {lot} may not be used: {'; '.join(why)}." for lot, why in ruled.reasons.items() if why
    ]
    for portion in draft.portions:
        holding = held[portion.lot]
        if holding.available_kg is None:
            found.append(f"Nobody knows how much of lot {portion.lot} is there, so count it first.")
            continue
        had = holding.available_kg + holding.reserved.get(blend, 0.0)
        if had < portion.kg - DUST:
            found.append(
                f"Of lot {portion.lot} {kilograms(portion.kg)} are planned, but"
                f" {kilograms(had)} can be had."
            )
    return found, _evidence(ruled.gathered, draft.lots)


def _evidence(gathered: Gathered, lots: Sequence[str]) -> Evidence:
    found: dict[str, dict[str, dict[str, Any]]] = {lot: {} for lot in lots}
    for row in assays.assays(gathered, lots).to_dict("records"):
        facts = {name: row[name] for name in FACTS}
        # What is known on one side only has no uncertainty that JSON could hold.
        facts["uncertainty"] = None if row["bound"] else row["uncertainty"]
        found[row["lot"]][row["characteristic"]] = facts
    return found


def _changes(then: Evidence, now: Evidence) -> Iterable[str]:
    for lot, before in then.items():
        for characteristic in dict.fromkeys((*before, *now[lot])):
            old, new = before.get(characteristic), now[lot].get(characteristic)
            if not _same(old, new):
                yield (
                    f"The {characteristic} of lot {lot} was {_said(old)} when it was drafted, and"
                    f" is {_said(new)} now."
                )


def _same(old: Mapping[str, Any] | None, new: Mapping[str, Any] | None) -> bool:
    if old is None or new is None:
        return old is new
    alike = all(old[name] == new[name] for name in ("unit", "basis", "method", "bound"))
    return alike and math.isclose(old["mean"], new["mean"], rel_tol=_ROUNDING)


def _said(facts: Mapping[str, Any] | None) -> str:
    if facts is None:
        return "not measured"
    value = written(facts["mean"], uncertainty=facts["uncertainty"], unit=facts["unit"])
    basis = f" {facts['basis']}" if facts["basis"] else ""
    side = f"{facts['bound']} " if facts["bound"] else ""
    return f"{side}{value}{basis} by {facts['method']}"
