"""A source that corrects a result: the new one supersedes the old, and both are in the record."""

import pytest

from spc.errors import InvalidInput, SignatureRefused
from tests.staff import enter, ines, mara

REASON = "the laboratory found a slip in its calculation and confirmed the new value"


def reading(bag, heat):
    return f"L-1,{bag},1,2026-03-04 10:00:00,0.1,10,10,{heat},µmol/L"


@pytest.fixture
def contradicted(small_store, source_file):
    """One reading of L-1 stands; a second file says another value for it."""
    enter(small_store, "mara", "ines")
    for heat in ("8.6", "8.9"):
        content = source_file("sensor", reading(1, heat))
        small_store.receive_bytes(f"sensor_{heat}.csv", content, by=ines(small_store))
    (held,) = small_store.held().to_dict("records")
    small_store.receipt, small_store.row = held["receipt"], held["source_row"]
    return small_store


def correct(store, **signing):
    return store.intake.correct(
        store.receipt, [store.row], reason=REASON, by=ines(store), **signing
    )


def sensed(store):
    return store.results("L-1").query("method == 'rapid sensor'")


def test_an_accepted_correction_supersedes_and_both_stay(contradicted):
    (old,) = sensed(contradicted)["result"]

    done = correct(contradicted)

    assert done.complete
    now = sensed(contradicted)
    assert now["reading_text"].tolist() == ["8.9"]
    assert now["supersedes"].tolist() == [old]
    assert now["superseding_reason"].tolist() == [REASON]
    assert contradicted.held().empty
    assert "corrected results" in contradicted.audit()["action"].tolist()
    assert contradicted.verify().ok


def test_old_and_new_are_told_before_and_nothing_is_written(contradicted, contents):
    before = contents(contradicted)

    told = contradicted.intake.would_correct(contradicted.receipt, [contradicted.row])

    (pair,) = told.pairs.to_dict("records")
    assert (pair["was"], pair["now"]) == ("8.6 µmol/L", "8.9 µmol/L")
    assert told.decided == ()
    assert told.consequences.judged >= 1
    assert contents(contradicted) == before


def test_what_was_superseded_is_known_and_does_not_come_back(contradicted, source_file):
    correct(contradicted)

    again = source_file("sensor", reading(1, "8.6"), reading(2, "8.7"))
    taken = contradicted.receive_bytes("grown.csv", again, by=ines(contradicted))

    assert (taken.stored, taken.held, taken.known) == (1, 0, 1)
    assert "8.6" not in sensed(contradicted)["reading_text"].tolist()


def test_a_decided_lot_needs_a_second_person(contradicted):
    contradicted.dispose(
        "L-1", "on hold", reason="waiting for the laboratory", by=ines(contradicted)
    )

    asked = correct(contradicted)

    assert not asked.complete
    assert asked.deed == "correct results of a decided lot"
    assert sensed(contradicted)["reading_text"].tolist() == ["8.6"]
    contradicted.signing.sign(asked.request, by=mara(contradicted))
    assert sensed(contradicted)["reading_text"].tolist() == ["8.9"]


def test_a_signature_pending_on_another_standing_result_is_refused(contradicted):
    asked = contradicted.intake.ask_correction(
        contradicted.receipt, [contradicted.row], reason=REASON, by=ines(contradicted)
    )
    correct(contradicted)

    with pytest.raises(SignatureRefused, match="wait no longer"):
        contradicted.signing.sign(asked.request, by=ines(contradicted))


def test_a_row_that_waits_only_for_a_void_result_is_taken_in(contradicted):
    (old,) = sensed(contradicted)["result"]
    contradicted.invalidate(
        old, cause="the cuvette was cracked", by=ines(contradicted), second=mara(contradicted)
    )

    taken = contradicted.intake.check_again(contradicted.receipt, by=ines(contradicted))

    assert (taken.stored, taken.held) == (1, 0)
    assert sensed(contradicted)["reading_text"].tolist() == ["8.9"]


def test_a_row_that_waits_for_something_else_corrects_nothing(contradicted, source_file):
    content = source_file("sensor", reading(3, "eight"))
    held = contradicted.receive_bytes("words.csv", content, by=ines(contradicted))
    (row,) = contradicted.held(held.receipt)["source_row"]

    with pytest.raises(InvalidInput, match="does not wait for a changed value"):
        contradicted.intake.correct(held.receipt, [row], reason=REASON, by=ines(contradicted))


def trusting(store, sources, *, days):
    """A newer version of the sensor's profile, which trusts it to correct itself."""
    text = sources["sensor.toml"]
    newer = text.replace("[file]", f"version = 2\ncorrects_within_days = {days}\n[file]", 1)
    store.receive_bytes("newer.toml", newer.encode(), by=ines(store))


def said_again(store, source_file, *readings):
    content = source_file("sensor", *readings)
    return store.receive_bytes("later.csv", content, by=ines(store)).receipt


def test_a_trusted_source_corrects_itself_and_an_entry_says_so(
    contradicted, small_sources, source_file
):
    trusting(contradicted, small_sources, days=14)

    receipt = said_again(contradicted, source_file, reading(1, "9.1"))

    assert sensed(contradicted)["reading_text"].tolist() == ["9.1"]
    assert contradicted.held(receipt).empty
    (told,) = contradicted.intake.corrections("L-1").to_dict("records")
    assert (told["was"], told["now"]) == ("8.6 µmol/L", "9.1 µmol/L")
    assert told["reason"] == "corrected by its source within 14 days, as its profile states"
    assert contradicted.verify().ok


def test_a_trusted_source_corrects_nothing_of_a_decided_lot(
    contradicted, small_sources, source_file
):
    trusting(contradicted, small_sources, days=14)
    contradicted.dispose(
        "L-1", "on hold", reason="waiting for the laboratory", by=ines(contradicted)
    )

    receipt = said_again(contradicted, source_file, reading(1, "9.1"))

    assert sensed(contradicted)["reading_text"].tolist() == ["8.6"]
    assert len(contradicted.held(receipt)) == 1
