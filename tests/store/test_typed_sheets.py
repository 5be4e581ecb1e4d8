"""Results typed in by a person meet the checks, and keep the provenance, of any file."""

from dataclasses import replace

import pytest

from spc.errors import InvalidInput
from spc.intake.by_hand import Sheet, reading_units
from spc.store import Store
from tests.staff import ME, MY_NAME


def sheet_of(store, method="rapid sensor", characteristic="heat", *, unit="µmol/L", basis="as-is"):
    found = store.catalogue().method(method, characteristic)
    return Sheet(method=found, unit=unit, basis=basis)


def row(sheet, reading="25", **more):
    typed = {
        "Lot": "L-1",
        "Sample": "1",
        "Test": "1",
        "Measured (UTC)": "2026-03-02 08:30",
        "Portion (g)": "0.1",
        "Buffer (mL)": "10",
        "Cell dilution": "10",
        **dict.fromkeys(sheet.readings.values(), reading),
    }
    return typed | more


def read(store, lot):
    """The one reading of a lot on the sensor."""
    [found] = store.results(lot).query("method == 'rapid sensor'").to_dict("records")
    return found


def test_a_typed_reading_is_worth_what_the_same_reading_in_a_file_is(small_store, source_file):
    sheet = sheet_of(small_store)
    file = source_file("sensor", "L-2,1,1,2026-03-02 08:30:00,0.1,10,10,25,µmol/L")
    small_store.receive_bytes("sensor.csv", file, by=ME)

    receipt = small_store.intake.type_in(sheet, [row(sheet)], by=ME)

    assert (receipt.rows, receipt.stored, receipt.held, receipt.known) == (1, 1, 0, 0)
    typed, filed = read(small_store, "L-1"), read(small_store, "L-2")
    same = ("value_low", "value_high", "reading_text", "measured_at", "cell_dilution", "basis")
    assert [typed[name] for name in same] == [filed[name] for name in same]


def test_what_was_typed_is_kept_as_a_file_with_who_typed_it(small_store):
    sheet = sheet_of(small_store)

    receipt = small_store.intake.type_in(sheet, [row(sheet)], by=ME)

    name, content = small_store.receipt_bytes(receipt.receipt)
    assert name.startswith("by hand 2")
    assert content.decode().splitlines()[1].startswith("L-1,1,1,25,2026-03-02 08:30,")
    assert (receipt.received_by, receipt.profile) == (MY_NAME, sheet.name)
    assert small_store.verify().ok


def test_a_bound_stays_a_bound(small_store):
    sheet = sheet_of(small_store)
    small_store.intake.type_in(sheet, [row(sheet, "<0.5")], by=ME)

    kept = read(small_store, "L-1")
    assert kept["value_low"] == 0.0 < kept["value_high"]


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"Lot": "L-99"}, "unknown-lot"),
        ({"Lot": ""}, "no-lot"),
        ({"Cell dilution": ""}, "missing-dilution"),
        ({"Measured (UTC)": "2.3.26"}, "unreadable-date"),
        ({"Measured (UTC)": "2126-03-02 08:30"}, "future-date"),
    ],
)
def test_a_typed_row_is_held_for_what_a_row_of_a_file_is_held_for(small_store, wrong, code):
    sheet = sheet_of(small_store)

    receipt, fate = small_store.intake.preview_typed(sheet, [row(sheet, **wrong)])

    assert (receipt.stored, receipt.held) == (0, 1)
    assert fate.held["code"].tolist() == [code]
    assert "rapid sensor" not in set(small_store.results()["method"])


def test_rows_in_which_nothing_was_typed_are_none(small_store):
    sheet = sheet_of(small_store)
    blank = dict.fromkeys(sheet.headers, " ")

    assert small_store.intake.type_in(sheet, [blank, row(sheet), blank], by=ME).rows == 1
    with pytest.raises(InvalidInput, match="nothing was typed"):
        small_store.intake.type_in(sheet, [blank], by=ME)


def test_the_same_reading_typed_twice_is_known(small_store):
    sheet = sheet_of(small_store)
    small_store.intake.type_in(sheet, [row(sheet)], by=ME)

    again = small_store.intake.type_in(sheet, [row(sheet), row(sheet, Sample="2")], by=ME)

    assert (again.stored, again.known) == (1, 1)


def test_a_sheet_that_is_read_otherwise_than_before_gets_the_next_version(small_store):
    sheet = sheet_of(small_store)
    older = sheet.profile(1).replace('Typed in by a person."', 'Typed in."')
    small_store.receive_bytes("older.toml", older.encode(), by=ME)

    for sample in ("1", "2"):
        small_store.intake.type_in(sheet, [row(sheet, Sample=sample)], by=ME)

    assert small_store.intake.profiles()[sheet.name] == 2


def test_a_method_that_adds_compounds_up_has_a_column_for_each(demo_store):
    method = demo_store.catalogue().method("liquid chromatography", "heat")
    sheet = Sheet(method=method, unit="mg/kg", basis="dry")

    assert set(sheet.readings) == set(method.factors)
    receipt, fate = demo_store.intake.preview_typed(sheet, [row(sheet, "800", Lot="R26-0140")])

    assert receipt.stored == 1
    assert fate.results["value_low"].to_numpy() == pytest.approx(800 * (16.1 + 16.1 + 9.3))


@pytest.mark.thorough
def test_every_method_of_the_demo_has_a_sheet_that_is_read(demo_files, tmp_path):
    with Store.open(tmp_path / "methods.db") as store:
        store.receive(demo_files[0], by=ME)
        for method in store.catalogue().methods:
            for unit in reading_units(method):
                sheet = replace(sheet_of(store), method=method, unit=unit)
                receipt, _ = store.intake.preview_typed(sheet, [row(sheet, Lot="nobody's")])

                assert (receipt.rows, receipt.held) == (1, 1)
