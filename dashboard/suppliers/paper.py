"""A supplier's scorecard as PDF: for purchasing, and to talk about with the supplier.

It names no other supplier, so that it can be handed over.
"""

from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from dashboard.frame import paper_figures, stream_tables
from dashboard.frame.paper import Told, pdf, short, utc
from dashboard.frame.words import CAUTIONS, count, day
from dashboard.suppliers.tables.comparison import supplier_facts
from dashboard.suppliers.words import cards, certificates, questions
from spc.answers import stream_capability
from spc.answers.supplier_cards import MaterialCard, SupplierCard
from spc.capability import Capability

TEMPLATE: Final = "suppliers/paper.typ"
_IN_THE_FOOTER: Final = 40


def supplier_pages(card: SupplierCard) -> bytes:
    """The scorecard of one supplier as PDF.

    Parameters
    ----------
    card
        Everything it shows; see `card_of_supplier`.

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
        "sentence": cards.delivered(card.lots, card.accepted),
        "country": card.country,
        "materials": [_material(one, card.supplier) for one in card.materials],
        "investigations": [_investigation(row) for row in card.investigations.to_dict("records")],
        "not_accepted": [_decision(row) for row in card.not_accepted.to_dict("records")],
        "how": list(cards.HOW),
        "printed": f"printed {day(moment)}, {moment:%H:%M} UTC by"
        f" {short(card.printed_by, _IN_THE_FOOTER)}",
        "cautions": [CAUTIONS],
    }


def _material(one: MaterialCard, supplier: str) -> Told:
    return {
        "name": f"{one.material}, {count(one.lots, 'lot')}",
        "facts": _facts(one, supplier),
        "sentences": _sentences(one, supplier),
        "indices": _indices(one),
        "chart": "" if one.points.empty else _chart(one),
        "alt": f"{one.material}: lots of {supplier} in order of receipt",
    }


def _facts(one: MaterialCard, supplier: str) -> list[list[str]]:
    if isinstance(one.compared, str) or supplier not in one.compared.suppliers.supplier:
        return []
    return supplier_facts(one.compared, supplier)


def _sentences(one: MaterialCard, supplier: str) -> list[str]:
    if isinstance(one.compared, str):
        return [one.compared]
    if supplier not in one.compared.suppliers.supplier:
        return ["Its heat is known as bounds only, so it is not compared."]
    said = [questions.bias(supplier, one.compared), *certificates.odd(one.compared, only=supplier)]
    if one.capability is not None:
        said.append(f"Capability. {stream_capability.capability_sentence(one.capability)}")
    return [
        sentence for sentence in (*said, *questions.unsaid_of(supplier, one.compared)) if sentence
    ]


def _indices(one: MaterialCard) -> list[list[str]]:
    if not isinstance(one.capability, Capability):
        return []
    return [
        [str(cell) for cell in row]
        for row in stream_capability.capability_table(one.capability).to_numpy()
    ]


def _chart(one: MaterialCard) -> str:
    frame = stream_tables.stream_frame(one.points, one.signals, line=one.line)
    return paper_figures.stream(frame, log=bool((one.points["scale"] == "log").all()))


def _investigation(row: Mapping[Any, Any]) -> list[str]:
    return [
        row["lot"],
        row["material"],
        row["characteristic"],
        row["cause"],
        row["action"],
        f"{row['opened_by']}, {day(row['opened_at'])}",
    ]


def _decision(row: Mapping[Any, Any]) -> list[str]:
    decided: pd.Timestamp = row["decided_at"]
    return [
        row["lot"],
        row["material"],
        day(row["received_at"]),
        row["decision"],
        f"{row['decided_by']}, {day(decided)}",
        row["reason"],
    ]
