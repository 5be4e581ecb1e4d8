"""A supplier's scorecard as PDF: for purchasing, and to talk about with the supplier.

It names no other supplier, so that it can be handed over.
"""

from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from dashboard import capable, tables, wording
from dashboard.reports import figures
from dashboard.reports.lot_sections import Told, short
from dashboard.reports.supplier_card import MaterialCard, SupplierCard
from dashboard.reports.typesetting import pdf, utc
from dashboard.tables.suppliers import supplier_facts
from dashboard.wording import certificates, supplier_cards
from dashboard.wording import suppliers as worded
from spc.capability import Capability

TEMPLATE: Final = "supplier_card.typ"
_IN_THE_FOOTER: Final = 40


def supplier_pages(card: SupplierCard) -> bytes:
    """The scorecard of one supplier as PDF.

    Parameters
    ----------
    card
        Everything it shows; see `collect_supplier`.

    Returns
    -------
    bytes
        A4 pages, the same for the same card.
    """
    return pdf(TEMPLATE, _told(card), printed_at=card.printed_at)


def _told(card: SupplierCard) -> Told:
    moment = utc(card.printed_at)
    return {
        "title": card.supplier,
        "short": short(card.supplier, _IN_THE_FOOTER),
        "sentence": supplier_cards.delivered(card.lots, card.accepted),
        "country": card.country,
        "materials": [_material(one, card.supplier) for one in card.materials],
        "investigations": [_investigation(row) for row in card.investigations.to_dict("records")],
        "not_accepted": [_decision(row) for row in card.not_accepted.to_dict("records")],
        "how": list(supplier_cards.HOW),
        "printed": f"printed {wording.day(moment)}, {moment:%H:%M} UTC by"
        f" {short(card.printed_by, _IN_THE_FOOTER)}",
        "cautions": [wording.CAUTIONS],
    }


def _material(one: MaterialCard, supplier: str) -> Told:
    return {
        "name": f"{one.material}, {wording.count(one.lots, 'lot')}",
        "facts": _facts(one, supplier),
        "sentences": _sentences(one, supplier),
        "indices": _indices(one),
        "chart": "" if one.points.empty else _chart(one),
        "alt": f"{one.material}: lots of {supplier} in order of receipt",
    }


def _facts(one: MaterialCard, supplier: str) -> list[list[str]]:
    if isinstance(one.told, str) or supplier not in one.told.suppliers.supplier:
        return []
    return supplier_facts(one.told, supplier)


def _sentences(one: MaterialCard, supplier: str) -> list[str]:
    if isinstance(one.told, str):
        return [one.told]
    if supplier not in one.told.suppliers.supplier:
        return ["Its heat is known as bounds only, so it is not compared."]
    said = [worded.bias(supplier, one.told), *certificates.odd(one.told, only=supplier)]
    if one.capability is not None:
        said.append(f"Capability. {capable.told(one.capability)}")
    return [sentence for sentence in (*said, *worded.unsaid_of(supplier, one.told)) if sentence]


def _indices(one: MaterialCard) -> list[list[str]]:
    if not isinstance(one.capability, Capability):
        return []
    return [[str(cell) for cell in row] for row in capable.table(one.capability).to_numpy()]


def _chart(one: MaterialCard) -> str:
    frame = tables.stream_frame(one.points, one.signals, line=one.line)
    return figures.stream(frame, log=bool((one.points["scale"] == "log").all()))


def _investigation(row: Mapping[Any, Any]) -> list[str]:
    return [
        row["lot"],
        row["material"],
        row["characteristic"],
        row["cause"],
        row["action"],
        f"{row['opened_by']}, {wording.day(row['opened_at'])}",
    ]


def _decision(row: Mapping[Any, Any]) -> list[str]:
    decided: pd.Timestamp = row["decided_at"]
    return [
        row["lot"],
        row["material"],
        wording.day(row["received_at"]),
        row["decision"],
        f"{row['decided_by']}, {wording.day(decided)}",
        row["reason"],
    ]
