"""A supplier's scorecard as a workbook: the same numbers, to work on with."""

import math
from typing import Any

import pandas as pd

from dashboard.frame.exports import xlsx_bytes
from dashboard.frame.tables import lots_table
from dashboard.suppliers.tables.files import suppliers_file
from dashboard.suppliers.words import cards
from spc.answers import stream_capability
from spc.answers.supplier_cards import MaterialCard, SupplierCard
from spc.answers.suppliers_compared import SuppliersCompared
from spc.capability import Capability


def supplier_workbook(card: SupplierCard) -> bytes:
    """The scorecard of one supplier as XLSX.

    Parameters
    ----------
    card
        Everything it shows; see `card_of_supplier`.

    Returns
    -------
    bytes
        Sheets scorecard, materials, lots, not accepted and investigations; the same for the same
        card.
    """
    return xlsx_bytes(
        {
            "scorecard": _facts(card),
            "materials": pd.concat(
                [_material(one, card.supplier) for one in card.materials], ignore_index=True
            ),
            "lots": _lots(card),
            "not accepted": card.not_accepted.rename(
                columns={"received_at": "received", "decided_at": "decided", "decided_by": "by"}
            ),
            "investigations": card.investigations[
                ["lot", "material", "characteristic", "cause", "action", "opened_by", "opened_at"]
            ].rename(columns={"opened_by": "opened by", "opened_at": "opened"}),
        }
    )


def _facts(card: SupplierCard) -> pd.DataFrame:
    accepted = card.accepted
    told: list[tuple[str, Any]] = [
        ("supplier", card.supplier),
        ("country", card.country),
        ("lots", len(card.lots)),
        ("first received", card.lots["received_at"].min()),
        ("last received", card.lots["received_at"].max()),
    ]
    if accepted is not None:
        told += [
            ("lots decided", accepted.of),
            ("accepted without condition", accepted.counted),
            ("share accepted", accepted.share),
            ("share accepted, low", accepted.interval.low),
            ("share accepted, high", accepted.interval.high),
        ]
    told += [
        ("open investigations", len(card.investigations)),
        ("printed by", card.printed_by),
        ("printed at (UTC)", card.printed_at.replace(tzinfo=None)),
        *(("how", sentence) for sentence in cards.HOW),
    ]
    return pd.DataFrame(told, columns=["what", "value"], dtype=object)


def _material(one: MaterialCard, supplier: str) -> pd.DataFrame:
    """One line: what the comparison says of this supplier, and its capability."""
    start = pd.DataFrame({"material": [one.material], "lots delivered": [one.lots]})
    if isinstance(one.compared, SuppliersCompared):
        row = suppliers_file(one.compared)
        row = row[row["supplier"] == supplier].drop(columns="supplier")
        start = pd.concat([start, row.reset_index(drop=True)], axis=1)
    return start.assign(**_capability(one))


def _capability(one: MaterialCard) -> dict[str, Any]:
    found = one.capability
    if not isinstance(found, Capability):
        said = "" if found is None else stream_capability.capability_sentence(found)
        return {"Ppk": math.nan, "Ppk, low": math.nan, "Ppk, high": math.nan, "capability": said}
    ends = found.intervals.ppk
    return {
        "Ppk": found.ppk,
        "Ppk, low": ends.low,
        "Ppk, high": ends.high,
        "capability": stream_capability.capability_sentence(found),
    }


def _lots(card: SupplierCard) -> pd.DataFrame:
    """Every lot, with the heat that was compared."""
    heats = [
        one.compared.found.lots[["lot", "value"]]
        for one in card.materials
        if isinstance(one.compared, SuppliersCompared)
    ]
    table = lots_table(card.lots).drop(columns="supplier")
    if not heats:
        return table
    heat = pd.concat(heats).rename(columns={"value": "heat (SHU)"})
    return table.merge(heat, on="lot", how="left")
