"""What makes a reading a test of its own: its sample, its column, its place in the file."""

import pytest

from tests.staff import ME

PROFILE = """
profile = "dryer"
{stated}
[columns]
lot = "Lot"
measured_at = "On"
{sample}
[file]
date_format = "%Y-%m-%d"
[[measure]]
characteristic = "moisture"
method = "moisture balance"
reading = "First"
unit = "%"
[[measure]]
characteristic = "moisture"
method = "moisture balance"
reading = "Second"
unit = "%"
"""


def profile(stated: str = "", sample: str = "") -> bytes:
    return PROFILE.format(stated=stated, sample=sample).encode()


def readings(store, lot: str = "L-1") -> list[tuple[str, str, float]]:
    results = store.results(lot)
    mine = results[results["characteristic"] == "moisture"].sort_values(["source_row", "result"])
    return list(mine[["sample", "replicate", "value_low"]].itertuples(index=False, name=None))


def test_two_columns_of_one_test_are_two_readings_though_they_are_equal(small_store):
    small_store.receive_bytes("dryer.toml", profile(), by=ME)

    receipt = small_store.receive_bytes(
        "a.csv", b"Lot,On,First,Second\nL-1,2026-03-04,9.8,9.8\n", by=ME
    )

    assert (receipt.stored, receipt.results) == (1, 2)
    assert readings(small_store) == [("", "", 9.8), ("", ".2", 9.8)]


FILE = b"Lot,On,First,Second\nL-1,2026-03-04,9.8,9.7\nL-1,2026-03-04,9.8,9.7\n"


def test_a_second_row_of_one_lot_and_day_without_a_sample_is_asked(small_store):
    small_store.receive_bytes("dryer.toml", profile(), by=ME)

    receipt = small_store.receive_bytes("a.csv", FILE, by=ME)

    assert (receipt.stored, receipt.held, receipt.known) == (1, 1, 0)
    assert small_store.held()["code"].tolist() == ["test-or-repeat"]

    small_store.intake.confirm(receipt.receipt, [3], by=ME, reason="two dishes were dried")

    assert readings(small_store) == [
        ("", "", 9.8), ("", ".2", 9.7), ("", "2", 9.8), ("", "2.2", 9.7)
    ]  # fmt: skip


@pytest.mark.parametrize(("stated", "count", "known"), [("replicates", 4, 0), ("repeats", 2, 1)])
def test_a_profile_can_state_what_they_are(small_store, stated, count, known):
    small_store.receive_bytes("dryer.toml", profile(f'unnumbered = "{stated}"'), by=ME)

    receipt = small_store.receive_bytes("a.csv", FILE, by=ME)
    again = small_store.receive_bytes("b.csv", FILE + b"\n", by=ME)

    assert (receipt.results, receipt.known, receipt.held) == (count, known, 0)
    assert (again.stored, again.known) == (0, 2)
    assert len(readings(small_store)) == count


def test_1_and_01_and_1_point_0_are_one_sample(small_store):
    small_store.receive_bytes("dryer.toml", profile(sample='sample = "Bag"'), by=ME)
    rows = [f"L-1,2026-03-04,{bag},9.8," for bag in ("1", "01", "1.0", "2", "10", "100", "0")]

    small_store.receive_bytes(
        "a.csv", "\n".join(["Lot,On,Bag,First,Second", *rows]).encode(), by=ME
    )

    assert [sample for sample, _, _ in readings(small_store)] == ["1", "2", "10", "100", "0"]


def test_a_sample_that_an_earlier_version_kept_as_01_is_known(small_store):
    small_store.receive_bytes("dryer.toml", profile(sample='sample = "Bag"'), by=ME)
    row = b"Lot,On,Bag,First,Second\nL-1,2026-03-04,01,9.8,\n"
    small_store.receive_bytes("a.csv", row, by=ME)
    small_store._connection.write(
        lambda cursor: cursor.execute(
            "update result set sample = '01', identity = replace(identity, '|1|', '|01|')"
        ),
        token="an earlier version",  # noqa: S106 - of a write, and no secret
    )

    again = small_store.receive_bytes("b.csv", row + b"\n", by=ME)

    assert (again.stored, again.known) == (0, 1)
