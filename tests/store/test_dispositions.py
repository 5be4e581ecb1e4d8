import json
import threading
from concurrent.futures import ThreadPoolExecutor
from datetime import date

import pytest

from spc.errors import DispositionRefused, NotAllowed, NotKnown, SignatureRefused, UnknownName
from spc.store import Store
from spc.store.lots import release
from spc.store.lots.release import Decision
from tests.approved import in_force
from tests.staff import ME, ines, signed

LIMITED = ("accepted under concession", "restricted to blend")
EVERY = ("accepted", "rejected", "on hold", "sent to rework", *LIMITED)
TODAY = date(2026, 3, 10)
TERMS = {"scope": "hot sauce line only", "expires_on": "2026-12-31"}


def sign(store, decision, *, by="mara", reason="as judged", second="", **more):
    terms = TERMS if decision in LIMITED else {}
    beside = signed(store, second) if second else None
    return store.dispose(
        "L-1", decision, by=signed(store, by), reason=reason, second=beside, **terms | more
    )


def refused(store, decision, *, kind=DispositionRefused, **more):
    before = store.dispositions("L-1")
    with pytest.raises(kind) as caught:
        sign(store, decision, **more)
    assert len(store.dispositions("L-1")) == len(before)
    assert caught.value.remedy
    return caught.value


def test_a_lot_that_conforms_is_accepted_by_one_person(measured):
    store = measured()

    done = sign(store, "accepted")

    assert done.state == "signed"
    assert store.verdict("L-1").recommendation == "accept"
    assert store.lot("L-1").decision == "accepted"
    assert store.dispositions("L-1")["disposition"].tolist() == [done.disposition]
    assert "L-1" not in set(store.lots(waiting=True)["lot"])
    assert store.verify().ok


@pytest.fixture(scope="module")
def judged(evidence):
    """The verdict of a lot that conforms."""
    with Store.open(evidence("good", "0.7")) as store:
        return store.verdict("L-1")


@pytest.mark.parametrize("before", ["", "on hold", "sent to rework"])
@pytest.mark.parametrize("then", EVERY)
def test_a_lot_without_a_final_decision_may_get_any(judged, before, then):
    decided = Decision(decision=then, reason="as judged", **TERMS)

    release.check("L-1", decided, judged, before=before, today=TODAY)


@pytest.mark.parametrize("before", ["accepted", "accepted under concession", "rejected"])
@pytest.mark.parametrize("then", EVERY)
def test_a_final_decision_stands_against_every_other(judged, before, then):
    decided = Decision(decision=then, reason="as judged", **TERMS)

    with pytest.raises(DispositionRefused, match=f"the lot is {before} already"):
        release.check("L-1", decided, judged, before=before, today=TODAY)


def test_a_lot_on_hold_still_waits_and_may_be_released_later(measured):
    store = measured()
    sign(store, "on hold")

    assert "L-1" in set(store.lots(waiting=True)["lot"])
    sign(store, "accepted", second="ines")

    assert store.dispositions("L-1")["decision"].tolist() == ["on hold", "accepted"]
    assert "accepted already" in refused(store, "rejected").what


@pytest.mark.parametrize("reason", ["", " ", ".", "...", "ok"])
def test_a_decision_needs_a_reason_that_says_something(measured, reason):
    problem = refused(measured(), "rejected", reason=reason, kind=SignatureRefused)

    assert problem.what == "the signature has no reason."


def test_a_name_in_a_text_field_signs_nothing(measured):
    store = measured()

    with pytest.raises(NotKnown, match="a plain text is no proof"):
        store.dispose("L-1", "accepted", by="x", reason="as judged")

    assert store.dispositions("L-1").empty


@pytest.mark.parametrize("decision", ["accepted", "rejected", "on hold", *LIMITED])
def test_purchasing_decides_on_no_lot(measured, decision):
    problem = refused(measured(), decision, by="jonas", kind=NotAllowed)

    assert set(problem.roles) == {"QA officer", "QA lead"}


def test_a_decision_that_is_none_is_answered_with_those_that_are(measured):
    problem = refused(measured(), "approved")

    assert problem.what == "'approved' is no decision."
    assert "accepted under concession" in problem.remedy


@pytest.mark.parametrize("decision", ["accepted", *LIMITED])
@pytest.mark.parametrize(
    ("toxin", "outcome"), [("9.8", "not conforming"), ("4.9", "undecided"), ("", "no result")]
)
def test_a_safety_line_is_never_conceded(measured, decision, toxin, outcome):
    problem = refused(measured(toxin=toxin), decision, second="ines")

    assert problem.what == f"the safety line aflatoxin B1 is {outcome}."
    assert "never conceded" in problem.remedy


def test_a_lot_that_fails_a_safety_line_can_still_be_rejected(measured):
    store = measured(toxin="9.8")

    sign(store, "rejected")

    assert store.lot("L-1").decision == "rejected"


def test_a_lot_that_does_not_conform_is_not_simply_accepted(measured):
    problem = refused(measured(heat="mild"), "accepted", second="ines")

    assert problem.what == "a line of the specification does not conform."
    assert "under concession" in problem.remedy


@pytest.mark.parametrize(
    ("heat", "decision"), [("mild", "accepted under concession"), ("borderline", "accepted")]
)
def test_accepting_against_the_evidence_takes_two_people(measured, heat, decision):
    store = measured(heat=heat)

    waiting = sign(store, decision)
    assert (waiting.state, waiting.disposition) == ("waiting", "")
    assert store.lot("L-1").decision == ""
    again = refused(store, decision, second="mara", kind=SignatureRefused)
    assert "Mara Quill has signed it as the first" in again.what
    sign(store, decision, second="ines")

    assert store.dispositions("L-1")["second_person"].tolist() == ["Ines Valbo"]


@pytest.mark.parametrize("decision", LIMITED)
def test_a_concession_for_a_good_lot_takes_two_people_too(measured, decision):
    store = measured()

    assert sign(store, decision).state == "waiting"
    assert store.dispositions("L-1").empty


@pytest.mark.parametrize("decision", LIMITED)
@pytest.mark.parametrize(
    ("fault", "what"),
    [
        ({"scope": " "}, "has no scope"),
        ({"expires_on": ""}, "has no date until which it holds"),
        ({"expires_on": "next year"}, "has no date until which it holds"),
        ({"expires_on": "2020-12-31"}, "would have ended on 2020-12-31"),
        ({"scope": "."}, "has no scope"),
    ],
)
def test_a_concession_says_for_what_and_until_when(measured, decision, fault, what):
    assert what in refused(measured(), decision, second="ines", **fault).what


def test_a_concession_keeps_its_terms_in_the_record(measured):
    store = measured(heat="mild")

    sign(store, "accepted under concession", second="ines")

    row = store.dispositions("L-1").iloc[0]
    assert (row["scope"], row["expires_on"]) == ("hot sauce line only", "2026-12-31")
    assert store.verify().ok


def test_a_lot_restricted_to_blend_can_only_be_rejected_later(measured):
    store = measured(heat="mild")
    sign(store, "restricted to blend", second="ines")

    assert "restricted to blend already" in refused(store, "accepted").what
    sign(store, "rejected")

    assert store.lot("L-1").decision == "rejected"


def test_evidence_is_kept_as_it_was_seen(measured):
    store = measured(heat="mild")
    judged = store.verdict("L-1")

    sign(store, "rejected")

    evidence = json.loads(store.dispositions("L-1")["evidence"].iloc[0])
    assert evidence["recommendation"] == "reject"
    assert evidence["sentence"] == judged.sentence
    assert [line["outcome"] for line in evidence["lines"]] == [
        line.outcome for line in judged.lines
    ]
    assert evidence["specification"]["version"] == 1


def test_a_signature_on_what_was_seen_is_taken(measured):
    store = measured()

    sign(store, "accepted", seen=store.seen("L-1"))

    assert store.lot("L-1").decision == "accepted"


def test_a_signature_is_refused_when_a_result_came_in_between(measured, source_file):
    store = measured()
    seen = store.seen("L-1")
    late = source_file("sensor", "L-1,6,1,2026-03-04 12:00:00,0.1,10,10,4.5,µmol/L")
    store.receive_bytes("late.csv", late, by=ines(store))

    problem = refused(store, "accepted", seen=seen)

    assert problem.what == "something is new since you opened it: 1 result of heat came."
    assert problem.reason_typed == "as judged"


def test_a_signature_is_not_refused_for_another_lot_s_result(measured, source_file):
    store = measured()
    seen = store.seen("L-1")
    other = source_file("moisture", "L-2;1;04.03.2026;11:30;9,0")
    store.receive_bytes("other.csv", other, by=ines(store))

    sign(store, "accepted", seen=seen)

    assert store.lot("L-1").decision == "accepted"


def test_of_two_people_who_sign_at_once_exactly_one_wins(measured):
    store = measured()
    together = threading.Barrier(2)

    def attempt(decision, by):
        together.wait()
        try:
            sign(store, decision, by=by)
        except DispositionRefused:
            return "refused"
        return decision

    with ThreadPoolExecutor(2) as people:
        outcomes = list(people.map(attempt, ["accepted", "rejected"], ["mara", "ines"]))

    assert outcomes.count("refused") == 1
    outcomes.remove("refused")
    assert store.dispositions("L-1")["decision"].tolist() == outcomes
    assert store.verify().ok


def test_a_lot_that_is_not_there_cannot_be_decided_on(small_store):
    with pytest.raises(UnknownName, match="Did you mean"):
        small_store.dispose("L-11", "rejected", by=ME, reason="never came")


def test_a_lot_of_which_nothing_is_known_waits_for_results(small_store, source_file):
    row = "L-3,cayenne powder,North Mill,2026-03-05,2025,40,25,,"
    small_store.receive_bytes("register.csv", source_file("register", row), by=ME)

    judged = small_store.verdict("L-3")

    assert judged.recommendation == "hold"
    assert {line.outcome for line in judged.lines} == {"no result"}


def test_a_material_without_a_specification_cannot_be_judged(small_store, source_file):
    small_store.receive_bytes(
        "more.toml", b'[[material]]\nmaterial = "chilli flakes"\nform = "flakes"\n', by=ME
    )
    row = "L-3,chilli flakes,North Mill,2026-03-05,2025,40,25,39000,2026-02-20"
    small_store.receive_bytes("register.csv", source_file("register", row), by=ME)

    with pytest.raises(UnknownName, match="no specification 'chilli flakes'"):
        small_store.verdict("L-3")
    assert set(small_store.verdicts(["L-1", "L-2"])) == {"L-1", "L-2"}


def test_a_lot_is_judged_by_the_version_in_force_on_the_day_it_came(
    small_store, small_sources, source_file
):
    text = small_sources["catalogue.toml"].replace("version = 1", "version = 2")
    newer = text.replace("effective_from = 2026-01-01", "effective_from = 2026-03-03")
    small_store.receive_bytes("newer.toml", newer.encode(), by=ME)
    in_force(small_store)
    row = "L-0,cayenne powder,North Mill,2025-06-01,2024,40,25,39000,2025-05-20"
    small_store.receive_bytes("register.csv", source_file("register", row), by=ME)

    versions = {
        lot: small_store.verdict(lot).specification.version for lot in ("L-0", "L-1", "L-2")
    }

    assert versions == {"L-0": 1, "L-1": 1, "L-2": 2}
