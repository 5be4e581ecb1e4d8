"""The lot that a blend became: how it stands in the store beside the lots that were bought.

It needs a material and a supplier like any lot.  The material is the one the draft names, so its
specification judges it.  The supplier is `OWN`; the catalogue brings that name, with the country
the house blends in, and a blend is not issued before it does.  The supplier's number is that of
the blend sheet, the price what was weighed in cost for each kilogram that came out, and the year
of harvest that of the parents if they share one.  The record of making is kept like a received
file, so that the lot stands in the name of a receipt and is sealed like any other.
"""

import hashlib
import math
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any, Final

import pandas as pd

from spc.store.blends.blend_records import Blend
from spc.store.file.cursors import Cursor
from spc.store.lots import lots
from spc.store.lots.lots import Lot
from spc.store.people.proofs import Actor
from spc.store.record import audit, ledger, receipts
from spc.store.record.receipts import Receipt

# The name under which the house itself supplies; the store never adds it to the catalogue.
OWN: Final = "own blend"


@dataclass(frozen=True, slots=True, kw_only=True)
class Output:
    """What came out, and what was weighed in, kg by lot and above zero."""

    lot: str
    weighed: Mapping[str, float]
    packages: int | None
    package_kg: float | None
    made_at: datetime


def receive(
    cursor: Cursor,
    planned: Blend,
    output: Output,
    rows: Mapping[str, list[ledger.Row]],
    *,
    by: Actor,
) -> Receipt:
    """Take the new lot in, with its parents and the rows given, in one entry of the audit chain.

    Parameters
    ----------
    rows
        The event of the making, and the moves of stock it made.
    """
    facts = _facts(planned, output, lots.several(cursor, list(output.weighed)))
    [happened] = rows["blend_event"]
    content = _record(planned, output, facts, by=by.name)
    receipt = _receipt(f"blend {planned.sheet}.json", content, facts["lot"], happened)
    fresh = pd.DataFrame([facts], index=pd.Index([1], name="source_row"))
    lots.insert(cursor, fresh, receipt=receipt.receipt)
    receipts.insert(cursor, receipt, content=content, version=0)
    parents = [
        {"lot": output.lot, "parent": lot, "kg": kg, "blend": planned.blend}
        for lot, kg in output.weighed.items()
    ]
    ledger.post(
        cursor,
        {**rows, "blend_parent": parents},
        actor=receipt.received_by,
        action="received",
        subject=receipt.receipt,
        more=_told(receipt, planned.blend) | {"by": by.told()},
    )
    return receipt


def _facts(planned: Blend, output: Output, parents: Mapping[str, Lot]) -> dict[str, Any]:
    harvests = {one.harvest_year for one in parents.values()}
    price, currency = _price(output, parents)
    return {
        "lot": output.lot,
        "material": planned.draft.material,
        "supplier": OWN,
        "supplier_lot": planned.sheet,
        "received_at": output.made_at,
        "harvest_year": harvests.pop() if len(harvests) == 1 else None,
        "packages": output.packages,
        "package_kg": output.package_kg,
        "price_per_kg": price,
        "currency": currency,
    }


def _price(output: Output, parents: Mapping[str, Lot]) -> tuple[float | None, str]:
    """Cost of a kilogram that came out; None where a price is not known or currencies differ."""
    currencies = {one.currency for one in parents.values()}
    costs = [
        one.price_per_kg * output.weighed[lot]
        for lot, one in parents.items()
        if one.price_per_kg is not None
    ]
    if len(costs) < len(parents) or len(currencies) > 1:
        return None, ""
    packed = (output.packages or 0) * (output.package_kg or 0.0)
    return math.fsum(costs) / (packed or math.fsum(output.weighed.values())), currencies.pop()


def _record(planned: Blend, output: Output, facts: Mapping[str, Any], *, by: str) -> bytes:
    told = {
        "blend": planned.blend,
        "name": planned.draft.name,
        "sheet": planned.sheet,
        "made_by": by,
        "weighed_kg": dict(output.weighed),
        "lot": {**facts, "received_at": output.made_at.isoformat(timespec="microseconds")},
    }
    return (audit.canonical(told) + "\n").encode()


def _receipt(name: str, content: bytes, lot: str, happened: ledger.Row) -> Receipt:
    sha256 = hashlib.sha256(content).hexdigest()
    return Receipt(
        receipt=sha256[:12],
        name=name,
        sha256=sha256,
        kind="blend",
        profile="",
        received_by=happened["signed_by"],
        received_at=happened["happened_at"],
        rows=1,
        stored=1,
        held=0,
        known=0,
        results=0,
        created_lots=(lot,),
    )


def _told(receipt: Receipt, blend: str) -> dict[str, Any]:
    """What the audit chain says of every receipt, and of which blend it is."""
    facts = ("name", "sha256", "kind", "rows", "stored", "held", "known")
    return {
        **{fact: getattr(receipt, fact) for fact in facts},
        "blend": blend,
    }
