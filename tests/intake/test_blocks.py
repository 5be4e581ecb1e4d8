"""Several tables in one file are read one by one; what lies on its side is turned, or refused."""

import pytest

from spc.errors import AmbiguousLayout, UnknownLayout
from tests.staff import ME

WATER = """
profile = "plain water"
[file]
[columns]
lot = "Lot"
sample = "Bag"
[[measure]]
characteristic = "moisture"
method = "moisture balance"
reading = "Water %"
unit = "%"
"""
TOXIN = """
profile = "plain toxins"
[file]
[columns]
lot = "Lot"
[[measure]]
characteristic = "aflatoxin B1"
method = "liquid chromatography"
reading = "AFB1"
unit = "µg/kg"
"""


@pytest.fixture
def store(small_store):
    small_store.receive_bytes("water.toml", WATER.encode(), by=ME)
    small_store.receive_bytes("toxins.toml", TOXIN.encode(), by=ME)
    return small_store


def received(store, text: str):
    return store.receive_bytes("two.csv", text.encode(), by=ME)


def told(store, receipt) -> list[tuple[int, str, str, float]]:
    results = store.results()
    mine = results[results["receipt"] == receipt.receipt].sort_values("source_row")
    names = ["source_row", "lot", "characteristic", "value_high"]
    return list(mine[names].itertuples(index=False, name=None))


def held(store, receipt) -> dict[int, str]:
    found = store.held(receipt.receipt)
    return dict(zip(found["source_row"], found["code"], strict=True))


def test_a_second_table_is_read_by_its_own_header(store):
    receipt = received(
        store,
        "Lot,Bag,Water %\nL-1,1,9.8\n\nLot,AFB1\nL-1,0.9\nL-2,1.2\n\nLot,Bag,Water %\nL-2,1,9\n",
    )

    assert (receipt.rows, receipt.stored) == (4, 4)
    assert told(store, receipt) == [
        (2, "L-1", "moisture", 9.8),
        (5, "L-1", "aflatoxin B1", 0.9),
        (6, "L-2", "aflatoxin B1", 1.2),
        (9, "L-2", "moisture", 9.0),
    ]
    assert store.verify().ok
    result = store.results("L-2").query("characteristic == 'aflatoxin B1'")["result"].iloc[0]
    assert store.calculation(result)[2] == {"Lot": "L-2", "AFB1": "1.2"}


@pytest.mark.parametrize(
    "below",
    ["Lot,Ash,Remark\nL-1,5.1,\n", "Batch,Probe,Asche\nL-1,1,5.1\n", "Lot,Bag,Ash %\nL-1,1,5\n"],
)
def test_a_second_table_that_no_profile_reads_is_held_and_never_read_as_the_first(store, below):
    receipt = received(store, f"Lot,Bag,Water %\nL-1,1,9.8\n\n{below}")

    assert told(store, receipt) == [(2, "L-1", "moisture", 9.8)]
    assert held(store, receipt) == {4: "other-table", 5: "other-table"}


def test_rows_of_a_second_table_are_mended_under_their_own_header(store):
    receipt = received(store, "Lot,Bag,Water %\nL-1,1,9.8\n\nLot,AFB1\nL-1,0.9 or so\n")
    assert held(store, receipt) == {5: "unreadable-number"}

    store.intake.mend(receipt.receipt, [5], {"AFB1": "0.9"}, by=ME, reason="asked them")

    assert told(store, receipt)[-1] == (5, "L-1", "aflatoxin B1", 0.9)


def test_units_below_the_header_that_agree_are_no_row(store):
    receipt = received(store, "Lot,Bag,Water %\n,,g/100 g\nL-1,1,9.8\n")

    assert (receipt.rows, receipt.stored) == (1, 1)


def test_units_below_the_header_that_disagree_hold_every_value(store):
    receipt = received(store, "Lot,Bag,Water %\n,,g/kg\nL-1,1,98\nL-1,2,\n")

    assert held(store, receipt) == {3: "unit-contradicted", 4: "nothing-measured"}
    assert "says g/kg of Water %, and the source profile %" in store.held()["reason"].iloc[0]


def test_a_table_on_its_side_is_turned(store):
    receipt = received(store, "Lot,L-1,L-2,L-9\nBag,1,1,1\nWater %,9.8,10.1,11\n")

    assert told(store, receipt) == [(2, "L-1", "moisture", 9.8), (3, "L-2", "moisture", 10.1)]
    assert held(store, receipt) == {4: "unknown-lot"}
    store.intake.check_again(receipt.receipt, by=ME)
    assert held(store, receipt) == {4: "unknown-lot"}


def test_a_table_on_its_side_that_no_profile_knows_is_refused(store):
    with pytest.raises(UnknownLayout, match="no source profile fits"):
        received(store, "Lot,L-1,L-2\nAsh,5.1,5.2\n")


@pytest.mark.parametrize(
    "word",
    ["Mean", "SD", "RSD %", "Max", "Mittelwert", "Moyenne", "Promedio", "media", "Std. Dev.",
     "Écart-type", "Mean (n=3)", "Mittelwert 1-3", "CV", "Blindwert", "TOTAL:", "Médiane"],
)  # fmt: skip
def test_a_line_of_the_report_is_no_sample(store, word):
    receipt = received(store, f"Lot,Bag,Water %\nL-1,1,9.8\nL-1,{word},9.8\n")

    assert held(store, receipt) == {3: "line-of-report"}


def test_a_line_of_the_report_is_known_by_a_column_that_is_not_read(store):
    receipt = received(store, "Kind,Lot,Bag,Water %\nrow,L-1,1,9.8\nrow,L-2,1,9\nMean,L-1,9,9.8\n")

    assert held(store, receipt) == {4: "line-of-report"}


def test_two_profiles_that_fit_one_header_are_asked(store):
    twin = WATER.replace("plain water", "other mill").replace('unit = "%"', 'unit = "g/kg"')
    store.receive_bytes("twin.toml", twin.encode(), by=ME)
    rows = "Lot,Bag,Water %\nL-1,1,9.8\n"

    with pytest.raises(AmbiguousLayout, match="'other mill' and 'plain water' both fit") as caught:
        received(store, rows)

    assert caught.value.profiles == ("other mill", "plain water")
    assert store.receive_bytes("two.csv", rows.encode(), "plain water", by=ME).stored == 1


def test_a_profile_that_reads_more_of_a_header_is_no_doubt(store):
    more = TOXIN.replace("plain toxins", "rich").replace(
        "[[measure]]", 'sample = "Bag"\n[[measure]]', 1
    )
    store.receive_bytes("rich.toml", more.encode(), by=ME)

    assert received(store, "Lot,Bag,AFB1\nL-1,1,0.9\n").profile == "rich"
