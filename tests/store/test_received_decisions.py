"""Decisions in files: history from before the record, and never a way round a signature."""

import pytest

from spc.errors import DispositionRefused
from tests.staff import first_day, ines, mara

FIRST_DAY = "2026-06-01"


@pytest.fixture
def record(measured):
    """A record whose first day is signed, with L-1 measured and found good."""
    store = measured()
    first_day(store, FIRST_DAY)
    return store


def receive(store, source_file, *rows, name="old.csv"):
    return store.receive_bytes(name, source_file("decisions", *rows), by=ines(store))


def test_decisions_from_before_the_first_day_come_in_as_history_and_are_marked(record, source_file):
    receipt = receive(
        record,
        source_file,
        "L-1,accepted,2026-03-06,mara  quill,QA,ok",
        "L-1,On Hold,2026-03-05,Mara Quill,QA,ok",
    )

    told = record.dispositions("L-1")
    assert receipt.stored == 2
    assert record.lot("L-1").decision == "accepted"
    assert told["decision"].tolist() == ["on hold", "accepted"]
    assert set(told["how"]) == {"from before the record, as received"}
    assert (set(told["evidence"]), set(told["person"])) == ({""}, {""})
    with pytest.raises(DispositionRefused, match="accepted already"):
        record.dispose("L-1", "rejected", by=mara(record), reason="too mild")
    assert record.verify().ok


@pytest.mark.parametrize("toxin", ["", "9.8", "4.9"])
@pytest.mark.parametrize("decision", ["accepted", "accepted under concession"])
def test_a_file_lets_no_lot_in_over_an_open_safety_line(measured, source_file, decision, toxin):
    store = measured(toxin=toxin)
    first_day(store, FIRST_DAY)

    receipt = receive(store, source_file, f"L-1,{decision},2026-03-06,Mara Quill,QA,ok")

    held = store.held(receipt.receipt).iloc[0]
    assert (receipt.stored, held["code"], held["lot"]) == (0, "open-safety-line", "L-1")
    assert "but the safety line aflatoxin B1 is " in held["reason"]
    assert store.lot("L-1").decision == ""
    assert store.verdict("L-1").recommendation != "accept"


def test_a_rejection_comes_in_whatever_was_measured(measured, source_file):
    store = measured(toxin="")
    first_day(store, FIRST_DAY)

    assert receive(store, source_file, "L-1,rejected,2026-03-06,Mara Quill,QA,ok").stored == 1


def test_once_the_result_is_there_the_row_is_taken_in(measured, source_file):
    store = measured(toxin="")
    first_day(store, FIRST_DAY)
    receipt = receive(store, source_file, "L-1,accepted,2026-03-06,Mara Quill,QA,ok")
    late = source_file("laboratory", "L-1,2026-03-06,,,0.7,")
    store.receive_bytes("late.csv", late, by=ines(store))

    checked = store.intake.check_again(receipt.receipt, by=ines(store))

    assert (checked.stored, checked.held) == (1, 0)
    assert store.lot("L-1").decision == "accepted"


@pytest.mark.parametrize("day", ["2026-06-01", "2026-06-02"])
def test_a_decision_from_the_first_day_on_is_signed_and_not_received(record, source_file, day):
    receipt = receive(record, source_file, f"L-1,rejected,{day},Mara Quill,QA,too mild")

    held = record.held(receipt.receipt).iloc[0]
    assert (held["code"], record.lot("L-1").decision) == ("decided-here", "")
    assert f"from {FIRST_DAY} on, decisions are signed here" in held["reason"]


def test_without_a_signed_first_day_no_decision_is_received(measured, source_file):
    store = measured()
    receipt = receive(store, source_file, "L-1,accepted,2026-03-06,Mara Quill,QA,ok")
    held = store.held(receipt.receipt).iloc[0]

    first_day(store, FIRST_DAY)
    store.intake.check_again(receipt.receipt, by=ines(store))

    assert "no first day of this record is signed" in held["reason"]
    assert "lotheat people first-day" in held["remedy"]
    assert store.lot("L-1").decision == "accepted"


def test_the_same_history_again_is_known_whatever_is_measured_since(record, source_file):
    rows = ["L-1,accepted,2026-03-06,Mara Quill,QA,ok"]
    receive(record, source_file, *rows)
    bad = source_file("laboratory", "L-1,2026-03-09,,,60,")
    record.receive_bytes("bad.csv", bad, by=ines(record))

    again = receive(
        record, source_file, *rows, "L-1,on hold,2026-03-05,Mara Quill,QA,ok", name="more.csv"
    )

    assert (again.stored, again.known, again.held) == (1, 1, 0)


TOGETHER = """
profile = "book of lots"
[file]
date_format = "%Y-%m-%d"
[columns]
lot = "Lot"
measured_at = "Analysed"
[decisions]
decision = "Decision"
decided_at = "Decided"
by = "By"
role = "Role"
reason = "Why"
[[measure]]
characteristic = "aflatoxin B1"
method = "{method}"
reading = "Aflatoxin"
unit = "µg/kg"
"""


def test_what_a_file_says_against_a_lot_stands_against_its_own_decision(record):
    """The value is held as one that cannot be; the lot waits for it all the same."""
    method = record.results("L-1").query("characteristic == 'aflatoxin B1'")["method"].iloc[0]
    record.receive_bytes("book.toml", TOGETHER.format(method=method).encode(), by=ines(record))
    content = (
        "Lot,Analysed,Aflatoxin,Decision,Decided,By,Role,Why\n"
        "L-1,2026-03-08,9000000000000,,,,,\n"
        "L-1,2026-03-08,,accepted,2026-03-09,Mara Quill,QA,ok\n"
    )

    receipt = record.receive_bytes("book.csv", content.encode(), by=ines(record))

    held = record.held(receipt.receipt).set_index("source_row")
    assert held["code"].tolist()[1:] == ["open-safety-line"]
    assert len(held) == 2
    assert record.lot("L-1").decision == ""
