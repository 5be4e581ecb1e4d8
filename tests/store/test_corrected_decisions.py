"""A wrong decision is superseded by a signed one; both stay, and the stock follows."""

import pytest

from spc.answers.blends.blocked import blocked_after_use
from spc.errors import DispositionRefused, NotAllowed, SignatureRefused
from spc.store.blends.drafts import Draft, Portion
from tests.staff import ines, jonas, mara

CLICKED = "clicked the wrong lot"


def accepted(store):
    return store.dispose("L-1", "accepted", by=ines(store), reason="conforms").disposition


def correct(store, disposition, decision, **more):
    told = {"by": ines(store), "second": mara(store), "reason": CLICKED} | more
    return store.correct_decision(disposition, decision, **told)


def test_a_wrong_click_is_corrected_by_two_and_both_stay(measured):
    store = measured()
    wrong = accepted(store)

    done = correct(store, wrong, "rejected")

    told = store.dispositions("L-1").set_index("disposition")
    assert store.lot("L-1").decision == "rejected"
    assert told.loc[wrong, "superseded_by"] == done.disposed.disposition
    assert told.loc[done.disposed.disposition, "corrects"] == wrong
    assert told.loc[wrong, "decision"] == "accepted"
    assert store.audit("L-1")["action"].tolist()[0] == "corrected: rejected"
    assert store.verify().ok


def test_a_correction_waits_for_the_second_person_and_the_lot_stands_till_then(measured):
    store = measured()
    waiting = correct(store, accepted(store), "rejected", second=None).disposed

    assert (waiting.state, store.lot("L-1").decision) == ("waiting", "accepted")
    assert store.lot("L-1").pending == "corrected: rejected"
    store.signing.sign(waiting.request, by=mara(store))

    assert store.lot("L-1").decision == "rejected"


def test_a_correction_can_be_corrected_and_only_what_counts(measured):
    store = measured()
    first = accepted(store)
    second = correct(store, first, "rejected").disposed.disposition

    with pytest.raises(DispositionRefused, match="does not count any more"):
        correct(store, first, "on hold")
    correct(store, second, "accepted", reason="it was the right lot after all")

    assert store.dispositions("L-1")["decision"].tolist() == ["accepted", "rejected", "accepted"]
    assert store.lot("L-1").decision == "accepted"


def test_nobody_corrects_alone_and_purchasing_not_at_all(measured):
    store = measured()
    wrong = accepted(store)

    with pytest.raises(NotAllowed):
        correct(store, wrong, "rejected", by=jonas(store))
    with pytest.raises(SignatureRefused):
        correct(store, wrong, "rejected", by=mara(store), second=mara(store))

    assert store.lot("L-1").decision == "accepted"


def test_a_correction_lets_no_lot_in_over_an_open_safety_line(measured):
    store = measured(toxin="")
    wrong = store.dispose("L-1", "rejected", by=ines(store), reason="too mild").disposition

    with pytest.raises(DispositionRefused, match="aflatoxin B1 is no result"):
        correct(store, wrong, "accepted")


def test_a_lot_blocked_again_is_no_longer_offered_and_what_was_drawn_is_listed(stocked):
    stocked.blends.introduce(country="Middle Vale", by=mara(stocked))
    draft = Draft(
        name="mild for May",
        material="cayenne powder",
        batch_kg=100.0,
        portions=(Portion(lot="MILD", kg=100.0),),
        predicted=(),
        target={"heat": {"lower": 20_000, "upper": 60_000}},
        note="",
    )
    blend = stocked.blends.save(draft, by=mara(stocked))
    stocked.blends.approve(blend, by=mara(stocked))
    stocked.blends.issue(blend, by=ines(stocked))
    stocked.blends.make(blend, lot="BLEND-1", weighed={"MILD": 100.0}, by=mara(stocked))
    planned = stocked.blends.save(draft, by=mara(stocked))
    wrong = stocked.dispositions("MILD")["disposition"].iloc[-1]
    assert blocked_after_use(stocked) == ()

    done = correct(stocked, wrong, "on hold", reason="metal found in bag 3")

    (drawn,) = done.drawn
    assert (drawn.lot, drawn.status, drawn.made, drawn.kg) == ("MILD", "made", "BLEND-1", 100.0)
    stock = stocked.blends.stock().lots.set_index("lot")
    assert "on hold" in stock.loc["MILD", "barred"]
    assert "it holds lot MILD, which is on hold" in stock.loc["BLEND-1", "barred"]
    assert "Lot MILD may not be used: on hold" in " ".join(stocked.blends.against(planned))
    (blocked,) = blocked_after_use(stocked)
    assert (blocked.lot, blocked.decision, blocked.reason) == (
        "MILD",
        "on hold",
        "metal found in bag 3",
    )
    assert blocked.drawn == done.drawn
