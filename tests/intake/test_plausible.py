"""A value is held where it cannot be, or where its material never showed the like."""

import shutil
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from spc.errors import BadCatalogue, DispositionRefused, InvalidInput
from spc.intake import catalogue
from spc.intake.characteristics import Characteristic
from spc.intake.checks.usual import learnt
from spc.store import Store
from tests.staff import ME

LOTS = 8
DAY = "2026-03-04"


def moisture(source_file, *cells: str, first: int = 1) -> bytes:
    """A file of the moisture balance, one lot a row."""
    rows = [
        f"K-{number};1;04.03.2026;09:{number % 60:02d};{cell}"
        for number, cell in enumerate(cells, start=first)
    ]
    return bytes(source_file("moisture", *rows))


@pytest.fixture(scope="module")
def known_file(small_store_file, source_file, tmp_path_factory) -> Path:
    """A store that knows one material from eight lots, and eight more of which nothing is known."""
    path: Path = tmp_path_factory.mktemp("known") / "lots.db"
    with Store.open(shutil.copy(small_store_file, path)) as store:
        register = [
            f"K-{n},cayenne powder,North Mill,2026-03-02,2025,40,25,{41000 + 100 * n},2026-02-20"
            for n in range(1, 2 * LOTS + 1)
        ]
        store.receive_bytes("lots.csv", source_file("register", *register), by=ME)
        water = [f"{9 + n / 10:.1f}".replace(".", ",") for n in range(LOTS)]
        store.receive_bytes("water.csv", moisture(source_file, *water), by=ME)
        toxins = [f"K-{n},{DAY},1700,850,{1 + n / 10:.1f},absent" for n in range(1, LOTS + 1)]
        store.receive_bytes("toxins.csv", source_file("laboratory", *toxins), by=ME)
    return path


@pytest.fixture
def store(known_file, tmp_path) -> Iterator[Store]:
    with Store.open(shutil.copy(known_file, tmp_path / "lots.db")) as opened:
        yield opened


def held(store: Store) -> pd.DataFrame:
    return store.held().set_index("source_row")


@pytest.mark.parametrize(
    ("cell", "said"),
    [("109,8", "moisture comes to 110 g/100 g, and nothing can have that (0 to 100 g/100 g)"),
     ("9812", "moisture comes to 9\u202f810 g/100 g")],
)  # fmt: skip
def test_more_than_the_whole_is_held_and_no_person_can_confirm_it(
    small_store, source_file, cell, said
):
    content = source_file("moisture", f"L-1;1;04.03.2026;09:00;{cell}")

    receipt = small_store.receive_bytes("water.csv", content, by=ME)

    assert (receipt.stored, receipt.held) == (0, 1)
    assert said in small_store.held()["reason"][0]
    with pytest.raises(InvalidInput, match="cannot be taken in as it stands"):
        small_store.intake.confirm(receipt.receipt, [3], by=ME, reason="I measured it")


@pytest.mark.parametrize(
    ("unit", "extent"),
    [("g/100 g", (0, 100)), ("%", (0, 100)), ("mg/kg", (0, 1e6)), ("µg/kg", (0, 1e9)),
     ("pH", (0, 14)), ("aw", (0, 1)), ("CFU/g", (0, np.inf)), ("µm", (0, np.inf))],
)  # fmt: skip
def test_what_a_unit_measures_says_what_can_be(unit, extent):
    one = Characteristic(characteristic="it", unit=unit)

    assert one.extent == pytest.approx(extent)
    assert one.can_be_lowest == (unit != "µm")


def test_a_catalogue_may_say_it_closer_and_not_the_wrong_way_round():
    head = '[[characteristic]]\ncharacteristic = "colour"\nunit = "ASTA units"\n'

    (said,) = catalogue.parse(f"{head}highest = 400.0\n").characteristics

    assert said.extent == (0.0, 400.0)
    with pytest.raises(BadCatalogue, match="must lie below its highest"):
        catalogue.parse(f"{head}lowest = 5.0\nhighest = 4.0\n")


def test_a_value_a_hundred_times_what_the_material_shows_asks_for_its_unit(store, source_file):
    content = source_file("laboratory", f"K-9,{DAY},1700,850,140,absent")

    store.receive_bytes("report.csv", content, by=ME)

    (reason,) = store.held()["reason"]
    assert reason == (
        "aflatoxin B1 140 µg/kg is 97 times what this material shows (about 1.45 µg/kg, from 8 lots"
        " of cayenne powder); is the unit right?"
    )


def test_a_share_written_for_per_cent_is_held(store, source_file):
    store.receive_bytes("water.csv", moisture(source_file, "0,0981", first=9), by=ME)

    (reason,) = store.held()["reason"]
    assert "moisture 0.0981 g/100 g is 1/95 of what this material shows" in reason


def test_a_doubtful_value_is_stored_once_a_person_says_that_it_is_right(store, source_file):
    content = source_file("laboratory", f"K-9,{DAY},1700,850,140,absent")
    receipt = store.receive_bytes("report.csv", content, by=ME)
    store.intake.check_again(receipt.receipt, by=ME)
    assert len(store.held()) == 1

    checked = store.intake.confirm(receipt.receipt, [2], by=ME, reason="second extract, 139")

    assert (checked.stored, checked.held) == (1, 0)
    results = store.results("K-9").set_index("characteristic")
    assert results.loc["aflatoxin B1", "value_low"] == 140.0
    assert store.verdict("K-9").recommendation == "reject"
    assert store.verify().ok


def test_a_reason_is_asked_of_who_says_so(store, source_file):
    content = source_file("laboratory", f"K-9,{DAY},1700,850,140,absent")
    receipt = store.receive_bytes("report.csv", content, by=ME)

    with pytest.raises(InvalidInput, match="a reason and a row"):
        store.intake.confirm(receipt.receipt, [2], by=ME, reason=" ")


@pytest.mark.parametrize("end", ["waits", "dismissed"])
def test_a_high_value_of_a_safety_line_holds_the_lot_whatever_becomes_of_its_row(
    store, source_file, end
):
    content = source_file("laboratory", f"K-3,{DAY},1700,850,490,absent", "K-2,,,,,absent")
    receipt = store.receive_bytes("report.csv", content, by=ME)
    if end == "dismissed":
        store.intake.dismiss(receipt.receipt, [2], by=ME, reason="must be a slip")

    judged = store.verdict("K-3")

    assert judged.recommendation == "hold"
    assert judged.sentence.startswith(
        "Hold: aflatoxin B1 490 µg/kg is 98 times what is allowed (5.00 µg/kg), by row 2 of"
        " report.csv"
    )
    assert judged.flags[0].name == "against its safety"
    with pytest.raises(DispositionRefused, match="stands against its safety"):
        store.dispose("K-3", "accepted", by=ME, reason="looks fine")
    assert store.verdict("K-2").flags[:1] != judged.flags[:1]


def test_a_dismissed_alarm_ends_when_the_same_is_measured_again(store, source_file):
    content = source_file("laboratory", f"K-9,{DAY},,,490,absent")
    receipt = store.receive_bytes("report.csv", content, by=ME)
    store.intake.dismiss(receipt.receipt, [2], by=ME, reason="wrong sample")

    store.receive_bytes("again.csv", source_file("laboratory", "K-9,2026-03-05,,,1.2,"), by=ME)

    assert "against its safety" not in [one.name for one in store.verdict("K-9").flags]


def test_a_row_held_for_another_reason_still_speaks_against_the_lot(store, source_file):
    content = source_file("laboratory", "K-3,32.13.2026,,,7,detected")

    store.receive_bytes("report.csv", content, by=ME)

    assert held(store)["code"].tolist() == ["unreadable-date"]
    assert "aflatoxin B1 7.00 µg/kg is 1.4 times what is allowed" in store.verdict("K-3").sentence


@pytest.mark.parametrize(
    ("factor", "words"),
    [(10, "10 times"), (0.1, "1/10 of"), (0.01, "1/100 of"), (0.001, "1/1000 of")],
)
def test_a_slip_of_the_whole_file_is_named_as_such(store, source_file, factor, words):
    cells = [f"{(9 + n / 10) * factor:.6f}".replace(".", ",") for n in range(LOTS)]

    receipt = store.receive_bytes("water.csv", moisture(source_file, *cells, first=9), by=ME)

    assert (receipt.stored, receipt.held) == (0, LOTS)
    if factor < 10:
        assert set(store.held()["code"]) == {"whole-file-slip"}
        assert f"8 of 8 values in this file are about {words}" in store.held()["reason"][0]


def test_honest_lots_are_stored_though_they_differ(store, source_file):
    cells = ["7,1", "13,9", "10,0", "8,2"]

    receipt = store.receive_bytes("water.csv", moisture(source_file, *cells, first=9), by=ME)

    assert (receipt.stored, receipt.held) == (4, 0)


def test_less_than_is_no_value_that_could_be_too_low(store, source_file):
    content = source_file("laboratory", f"K-9,{DAY},,,<0.5,", f"K-10,{DAY},,,<0.5,")

    assert store.receive_bytes("report.csv", content, by=ME).stored == 2


def test_too_few_lots_say_nothing_of_what_is_usual():
    readings = pd.DataFrame(
        {
            "material": "m", "characteristic": "c", "basis": "", "lot": ["1", "2", "3", "4", "4"],
            "value_low": 1.0, "value_high": 1.0, "scale": "linear", "unit": "%",
        }
    )  # fmt: skip

    assert learnt(readings) == {}


def test_what_is_usual_counts_every_lot_once_and_states_how_many():
    lots = [f"{n}" for n in range(9)] + ["8"] * 50
    readings = pd.DataFrame(
        {
            "material": "m", "characteristic": "c", "basis": "", "lot": lots,
            "scale": "linear", "unit": "%",
            "value_low": [10.0] * 8 + [1000.0] * 51, "value_high": [10.0] * 8 + [1000.0] * 51,
        }
    )  # fmt: skip

    (range_,) = learnt(readings).values()

    assert range_.lots == 9
    assert [range_.lowest, range_.middle, range_.highest] == pytest.approx([2.0, 10.0, 50.0])
