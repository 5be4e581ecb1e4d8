"""A supplier's scorecard: over all its materials, the same every time, and of nobody else."""

import dataclasses
import io
import shutil
import subprocess
from datetime import datetime

import openpyxl  # type: ignore[import-untyped]
import pytest
from scipy import stats

from dashboard.suppliers.paper import supplier_pages
from dashboard.suppliers.words import cards
from dashboard.suppliers.workbook import supplier_workbook
from spc.answers.supplier_cards import card_of_supplier
from spc.capability import Withheld
from spc.errors import UnknownName
from spc.store import StreamKey
from tests.staff import ME

PRINTED = datetime(2026, 11, 24, 14, 5)  # noqa: DTZ001 - UTC without zone, as the store keeps it
SUPPLIER = "North Fen Spices"
DRIFTING = StreamKey(
    material="cayenne powder",
    supplier=SUPPLIER,
    characteristic="heat",
    method="rapid sensor",
    basis="as-is",
)


@pytest.fixture(scope="module")
def card(demo_store):
    return card_of_supplier(demo_store, SUPPLIER, printed_by="Mara Quill", printed_at=PRINTED)


@pytest.fixture(scope="module")
def printed(card):
    return supplier_pages(card)


@pytest.fixture(scope="module")
def text(printed):
    if not shutil.which("pdftotext"):
        pytest.skip("pages are read with poppler (Debian: apt-get install poppler-utils)")
    read = subprocess.run(["pdftotext", "-", "-"], input=printed, capture_output=True, check=True)
    return " ".join(read.stdout.decode().split())


@pytest.fixture(scope="module")
def book(card):
    return openpyxl.load_workbook(io.BytesIO(supplier_workbook(card)))


def facts(book):
    return dict(book["scorecard"].iter_rows(min_row=2, values_only=True))


def lines(sheet):
    head, *rows = sheet.iter_rows(values_only=True)
    return [dict(zip(head, row, strict=True)) for row in rows]


def test_the_share_accepted_counts_decided_lots_and_has_its_exact_interval(card, demo_store):
    mine = demo_store.lots().query("supplier == @SUPPLIER")
    decided = mine[~mine["decision"].isin(["", "on hold"])]
    accepted = int((decided["decision"] == "accepted").sum())

    exact = stats.binomtest(accepted, len(decided)).proportion_ci(0.95, method="exact")

    assert (card.accepted.counted, card.accepted.of) == (accepted, len(decided))
    assert card.accepted.interval.low == pytest.approx(exact.low)
    assert f"{accepted} of {len(decided)} lots decided" in cards.share(card.accepted)


def test_every_lot_that_was_not_accepted_stands_with_its_day_and_reason(card, demo_store):
    lots = demo_store.lots().query("supplier == @SUPPLIER")
    other = lots[~lots["decision"].isin(["", "accepted"])]

    assert set(card.not_accepted["lot"]) == set(other["lot"])
    assert card.not_accepted["decided_at"].notna().all()
    assert card.not_accepted["decided_at"].is_monotonic_decreasing
    assert (card.not_accepted["reason"] != "").all()


def test_a_drifting_supplier_gets_no_capability_index(card):
    (cayenne,) = [one for one in card.materials if one.material == "cayenne powder"]

    assert isinstance(cayenne.capability, Withheld)
    assert "not stable" in cayenne.capability.reason


def test_the_page_tells_what_was_found_of_each_material(card, text):
    for told in (SUPPLIER, "Northern Fens", cards.delivered(card.lots, card.accepted)):
        assert " ".join(told.split()) in text
    for one in card.materials:
        assert one.material in text
    assert "+3.9 %" in text, "the drift from lot to lot"
    assert "Capability. Withheld. The stream is not stable" in text
    assert "None is open." in text


def test_the_page_names_no_other_supplier(text, demo_store):
    others = {one.supplier for one in demo_store.catalogue().suppliers} - {SUPPLIER}

    assert len(others) > 5
    assert not [name for name in others if name in text]


def test_the_same_card_gives_the_same_bytes(card, printed):
    assert printed.startswith(b"%PDF")
    assert supplier_pages(card) == printed
    assert supplier_workbook(card) == supplier_workbook(card)


def test_the_workbook_holds_the_same_numbers(card, book):
    assert book.sheetnames == ["scorecard", "materials", "lots", "not accepted", "investigations"]
    assert facts(book)["lots"] == len(card.lots)
    assert facts(book)["share accepted"] == pytest.approx(card.accepted.share)
    materials = {row["material"]: row for row in lines(book["materials"])}
    assert materials.keys() == {one.material for one in card.materials}
    drift = materials["cayenne powder"]["newest crop against earlier ones (share)"]
    (cayenne,) = [one for one in card.materials if one.material == "cayenne powder"]
    assert drift == pytest.approx(cayenne.compared.drift[SUPPLIER].change)
    assert len(lines(book["lots"])) == len(card.lots)
    assert all(isinstance(row["received"], datetime) for row in lines(book["lots"]))


def test_an_open_investigation_stands_on_the_card_until_it_is_closed(writable_demo):
    name = writable_demo.investigate(
        DRIFTING,
        "R26-0146",
        signals=["beyond limits"],
        cause="new mill screen",
        action="asked the supplier",
        by=ME,
    )

    opened = _card(writable_demo)
    writable_demo.close_investigation(name, conclusion="screen replaced", by=ME)

    assert opened.investigations["cause"].tolist() == ["new mill screen"]
    assert _card(writable_demo).investigations.empty


def test_a_supplier_of_whom_no_heat_is_known_still_has_a_card(small_store):
    card = card_of_supplier(small_store, "North Mill", printed_by="Mara Quill", printed_at=PRINTED)

    assert card.accepted is None
    assert supplier_pages(card).startswith(b"%PDF")
    book = openpyxl.load_workbook(io.BytesIO(supplier_workbook(card)))
    assert facts(book)["lots"] == 1
    assert "share accepted" not in facts(book)


def test_texts_of_people_are_never_taken_for_markup(card):
    nasty = '#read("/etc/passwd") *x* =cmd|calc'
    forged = dataclasses.replace(
        card, supplier=nasty, country=nasty, not_accepted=card.not_accepted.assign(reason=nasty)
    )
    materials = tuple(dataclasses.replace(one, compared="Not compared.") for one in card.materials)

    forged = dataclasses.replace(forged, materials=materials)

    assert supplier_pages(forged).startswith(b"%PDF")
    book = openpyxl.load_workbook(io.BytesIO(supplier_workbook(forged)))
    assert facts(book)["supplier"] == nasty


def test_an_unknown_supplier_is_named_with_its_nearest(demo_store):
    with pytest.raises(UnknownName, match="Did you mean North Fen Spices"):
        card_of_supplier(demo_store, "North Fen Spice", printed_by="x", printed_at=PRINTED)


def _card(store):
    return card_of_supplier(store, SUPPLIER, printed_by="Mara Quill", printed_at=PRINTED)
