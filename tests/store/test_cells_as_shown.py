"""A workbook's cells become stored results as a person sees them, not as they lie in the file."""

import openpyxl  # type: ignore[import-untyped]
import pytest

from tests.intake.workbook_files import saved
from tests.staff import ME

PROFILE = """
profile = "shown"
[file]
kind = "workbook"
date_format = "%Y-%m-%d"
[columns]
lot = "Lot"
measured_at = "Day"
[[measure]]
characteristic = "moisture"
method = "moisture balance"
reading = "Moisture"
unit = "%"
[[measure]]
characteristic = "heat"
method = "supplier certificate"
reading = "Heat"
unit = "{heat}"
basis = "as-is"
"""


def workbook(*cells):
    """Moisture and heat of L-1: a number and its format each."""
    book = openpyxl.Workbook()
    sheet = book.active
    sheet.append(["Lot", "Day", "Moisture", "Heat"])
    sheet.append(["L-1", "2026-03-04", *(number for number, _ in cells)])
    for cell, (_, code) in zip(sheet[2][2:], cells, strict=True):
        cell.number_format = code
    return saved(book)


@pytest.fixture
def received(small_store):
    """What a workbook of these cells leaves in the store: values by characteristic, and codes."""

    def made(*cells, heat):
        small_store.receive_bytes("shown.toml", PROFILE.format(heat=heat).encode(), by=ME)
        receipt = small_store.receive_bytes("shown.xlsx", workbook(*cells), by=ME)
        mine = small_store.results("L-1").query("source_row == 2 and receipt == @receipt.receipt")
        values = dict(zip(mine["characteristic"], mine["value_low"], strict=True))
        return values, small_store.held(receipt.receipt)["reason"].tolist()

    return made


def test_a_share_shown_as_per_cent_and_thousands_shown_as_such_are_stored_as_shown(received):
    values, held = received((0.082, "0.0%"), (41.25, '0.00" kSHU"'), heat="kSHU")

    assert held == []
    assert values == {"moisture": pytest.approx(8.2), "heat": pytest.approx(41250.0)}


def test_a_number_stored_in_units_and_shown_in_thousands_is_what_it_shows(received):
    values, held = received((8.2, "0.0"), (41250, '0.00," kSHU"'), heat="kSHU")

    assert held == []
    assert values == {"moisture": pytest.approx(8.2), "heat": pytest.approx(41250.0)}


def test_thousands_shown_below_a_column_of_units_wait_with_what_is_shown(received):
    values, held = received((0.082, "0.0%"), (41.25, '0.00" kSHU"'), heat="SHU")

    assert values == {}
    assert any("41.25 kSHU" in reason for reason in held)
