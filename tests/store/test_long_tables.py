"""A table of one row a determination: what it names is stored, what it does not is held."""

import pytest

from tests.staff import ME

PROFILE = """
profile = "long"
version = {version}
[file]
date_format = "%Y-%m-%d"
[columns]
lot = "Lot"
measured_at = "Day"
[[measure]]
characteristic = "moisture"
method = "moisture balance"
where = {{ Parameter = ["Moisture"{more}] }}
reading = "Result"
unit = "%"
[[measure]]
characteristic = "aflatoxin B1"
method = "liquid chromatography"
where = {{ Parameter = ["Aflatoxin B1"] }}
reading = "Result"
unit = "µg/kg"
"""
FILE = b"""Lot,Day,Parameter,Result
L-1,2026-03-04,Moisture,9.7
L-1,2026-03-04,Aflatoxin B1,<0.5
L-2,2026-03-04,Moistur,9.9
L-2,2026-03-04,Water content,9.9
L-2,2026-03-04,Lead,0.2
"""


@pytest.fixture
def profiled(small_store):
    text = PROFILE.format(version=1, more="")
    small_store.receive_bytes("long.toml", text.encode(), by=ME)
    return small_store


@pytest.fixture
def receipt(profiled):
    return profiled.receive_bytes("long.csv", FILE, by=ME)


def test_rows_of_a_word_that_no_measure_reads_wait_and_none_is_lost(profiled, receipt):
    assert (receipt.rows, receipt.stored, receipt.held, receipt.known) == (5, 2, 3, 0)
    assert set(profiled.held()["code"]) == {"unknown-characteristic"}
    assert set(profiled.results("L-1")["characteristic"]) >= {"moisture", "aflatoxin B1"}


def test_the_same_determinations_in_another_file_are_known(profiled, receipt):
    again = profiled.receive_bytes("more.csv", FILE + b"L-1,2026-03-05,Moisture,9.8\n", by=ME)

    assert receipt.stored == 2
    assert (again.rows, again.stored, again.held, again.known) == (6, 1, 3, 2)


def test_a_misspelt_word_is_mended_in_place(profiled, receipt):
    mended = profiled.intake.mend(
        receipt.receipt, [4], {"Parameter": "moisture"}, by=ME, reason="a slip"
    )

    assert (mended.rows, mended.stored, mended.held) == (1, 1, 0)
    assert "moisture" in set(profiled.results("L-2")["characteristic"])
    assert len(profiled.held()) == 2


def test_a_word_that_the_next_version_of_the_profile_knows_is_taken_in(profiled, receipt):
    text = PROFILE.format(version=2, more=', "Water content", "moistur"')
    profiled.receive_bytes("long.toml", text.encode(), by=ME)

    checked = profiled.intake.check_again(receipt.receipt, by=ME)

    # Both stand for the same lot, day and characteristic and say the same; whether that is one
    # test told twice or two tests, the profile does not say, so the second waits.
    assert (checked.rows, checked.stored, checked.known, checked.held) == (3, 1, 0, 2)
    assert profiled.verify().ok
