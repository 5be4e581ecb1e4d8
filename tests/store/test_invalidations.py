import pytest

from spc.errors import InvalidInput, SignatureRefused, UnknownName
from tests.staff import ME, enter, ines, mara, signed

CAUSE = "strip taken from the opened pack of batch S1"


@pytest.fixture
def alone(small_store, source_file):
    """The small store with three bags of L-1, one of them far too low; nobody has an account."""
    rows = [
        f"L-1,{bag},1,2026-03-04 10:00:00,0.1,10,10,{x},µmol/L"
        for bag, x in ((1, 8.6), (2, 8.4), (3, 2.1))
    ]
    small_store.receive_bytes("sensor.csv", source_file("sensor", *rows), by=ME)
    return small_store


@pytest.fixture
def measured(alone):
    """The same, with two people."""
    enter(alone, "mara", "ines")
    return alone


def low(store):
    results = store.results("L-1")
    return results.loc[results["sample"] == "3", "result"].iloc[0]


def heat(store):
    judged = store.verdict("L-1")
    return next(line.mean for line in judged.lines if line.line.characteristic == "heat")


def test_a_void_result_stays_in_the_record_and_no_longer_counts(measured):
    before = heat(measured)

    measured.invalidate(low(measured), cause=CAUSE, by=ines(measured), second=mara(measured))

    assert heat(measured).samples == before.samples - 1
    assert heat(measured).value > before.value
    void = measured.invalidations("L-1")
    assert void["cause"].tolist() == [CAUSE]
    assert void["reading_text"].tolist() == ["2.1"]
    assert void["second_person"].tolist() == ["Mara Quill"]
    assert measured.verify().ok


@pytest.mark.parametrize(
    ("fault", "what"),
    [
        ({"cause": " "}, "has no reason"),
        ({"cause": "."}, "has no reason"),
        ({"second": "ines"}, "Ines Valbo has signed it as the first"),
    ],
)
def test_a_result_is_not_void_because_it_is_unwelcome(measured, fault, what):
    told = {"cause": CAUSE, "second": "mara"} | fault
    second = signed(measured, told["second"])

    with pytest.raises(SignatureRefused, match=what):
        measured.invalidate(low(measured), cause=told["cause"], by=ines(measured), second=second)

    assert measured.invalidations("L-1").empty


def test_a_result_counts_until_a_second_person_has_signed_that_it_is_void(measured):
    before = heat(measured).samples
    waits = measured.invalidate(low(measured), cause=CAUSE, by=ines(measured))
    waiting = heat(measured).samples
    (done,) = measured.signing.sign(waits.request, by=mara(measured))

    assert (waits.state, waits.subject) == ("waiting", "a result of lot L-1")
    assert waiting == before
    assert done.complete
    assert heat(measured).samples == before - 1
    assert measured.invalidations("L-1")["invalidated_by"].tolist() == ["Ines Valbo"]


def test_one_person_makes_a_result_void_alone_and_it_is_marked(alone):
    done = alone.invalidate(low(alone), cause=CAUSE, by=ME)

    assert done.alone
    assert alone.invalidations("L-1")["second_person"].tolist() == [""]
    assert alone.verify().ok


def test_a_result_is_made_void_once(measured):
    result = low(measured)
    measured.invalidate(result, cause=CAUSE, by=ines(measured), second=mara(measured))

    with pytest.raises(InvalidInput, match="void already"):
        measured.invalidate(result, cause="opened strip", by=ines(measured), second=mara(measured))


def test_a_result_that_is_not_there_cannot_be_made_void(measured):
    with pytest.raises(UnknownName, match="no result"):
        measured.invalidate("x-1-1", cause="opened strip", by=ines(measured), second=mara(measured))


def test_receiving_the_file_again_does_not_bring_a_void_result_back(measured, source_file):
    measured.invalidate(low(measured), cause=CAUSE, by=ines(measured), second=mara(measured))
    more = [
        "L-1,3,1,2026-03-04 10:00:00,0.1,10,10,2.1,µmol/L",
        "L-1,4,1,2026-03-05 10:00:00,0.1,10,10,8.5,µmol/L",
    ]

    receipt = measured.receive_bytes("more.csv", source_file("sensor", *more), by=ines(measured))

    assert (receipt.stored, receipt.known) == (1, 1)
    assert "2.1" not in measured.results("L-1")["reading_text"].tolist()
