"""A decision that waits for a second person, and what overtakes it."""

import pytest

from spc.errors import DispositionRefused, NotAllowed, SignatureRefused
from spc.store.people import Ask
from tests.staff import ME, MY_NAME, ines, mara, signed

TERMS = {"scope": "hot sauce only", "expires_on": "2030-12-31"}
CONCEDED = "accepted under concession"


def concede(store, by="ines", **more):
    told = TERMS | {"reason": "sauce line agreed", "by": signed(store, by)} | more
    return store.dispose("L-1", CONCEDED, **told)


def test_a_lot_is_not_let_in_while_a_second_person_is_to_sign(measured):
    store = measured(heat="mild")

    waiting = concede(store)

    assert (waiting.state, waiting.disposition) == ("waiting", "")
    assert (store.lot("L-1").decision, store.lot("L-1").pending) == ("", CONCEDED)
    assert store.lots().set_index("lot").loc["L-1", "pending"] == CONCEDED
    assert "L-1" in set(store.lots(waiting=True)["lot"])
    assert store.dispositions("L-1").empty
    assert [one.request for one in store.signing.pending(by=mara(store))] == [waiting.request]
    assert store.signing.pending(by=ines(store)) == ()
    assert store.verify().ok


def test_the_second_person_signs_later_from_their_own_place(measured):
    store = measured(heat="mild")
    waiting = concede(store)

    store.signing.sign(waiting.request, by=mara(store))

    row = store.dispositions("L-1").iloc[0]
    assert (store.lot("L-1").decision, store.lot("L-1").pending) == (CONCEDED, "")
    assert (row["decided_by"], row["role"]) == ("Ines Valbo", "QA officer")
    assert (row["second_person"], row["scope"]) == ("Mara Quill", "hot sauce only")
    assert row["person"] == store.people.one("ines").person
    assert row["second"] == store.people.one("mara").person
    assert (row["request"], row["way"], row["how"]) == (waiting.request, "secret", "signed")
    assert (row["specification_version"], row["specification_approved_by"]) == (1, "Mara Quill")
    assert row["specification_approved_at"] <= row["decided_at"]
    assert store.verify().ok


@pytest.mark.parametrize("sign_in", ["ines", "jonas", "petra"])
def test_the_second_person_is_another_who_may(measured, sign_in):
    """A product developer may sign beside a QA lead only; purchasing never."""
    store = measured(heat="mild")
    waiting = concede(store)

    with pytest.raises((SignatureRefused, NotAllowed)):
        store.signing.sign(waiting.request, by=signed(store, sign_in))

    assert store.lot("L-1").decision == ""


def test_new_evidence_voids_what_waits_and_says_what_came(measured, source_file):
    store = measured(heat="mild")
    waiting = concede(store)
    late = source_file("sensor", "L-1,6,1,2026-03-04 12:00:00,0.1,10,10,4.4,µmol/L")
    store.receive_bytes("late.csv", late, by=ines(store))

    with pytest.raises(SignatureRefused, match="1 result of heat came") as refused:
        store.signing.sign(waiting.request, by=mara(store))

    assert refused.value.reason_typed == "sauce line agreed"
    assert store.signing.one(waiting.request).state == "void"
    assert store.lot("L-1").pending == ""


def test_what_was_asked_is_void_once_another_decision_is_taken(measured):
    store = measured(heat="mild")
    waiting = concede(store)

    store.dispose("L-1", "rejected", by=mara(store), reason="too mild for any line")

    overtaken = store.signing.one(waiting.request)
    assert (overtaken.state, overtaken.ended_why) == (
        "void",
        "another decision was taken: rejected",
    )


def test_a_stale_page_signs_nothing_over_a_hold_it_does_not_show(measured):
    store = measured()
    seen = store.seen("L-1")
    store.dispose("L-1", "on hold", by=ines(store), reason="metal found in bag 3")

    with pytest.raises(DispositionRefused, match="metal found in bag 3") as refused:
        store.dispose("L-1", "accepted", by=mara(store), reason="all conform", seen=seen)

    assert "Ines Valbo decided 'on hold'" in refused.value.what
    assert refused.value.reason_typed == "all conform"
    assert store.lot("L-1").decision == "on hold"


def test_a_release_over_a_hold_takes_two_and_one_of_them_the_lead(measured):
    store = measured()
    store.dispose("L-1", "on hold", by=ines(store), reason="metal found in bag 3")

    waiting = store.dispose("L-1", "accepted", by=mara(store), reason="sieved, nothing found")
    assert store.lot("L-1").decision == "on hold"
    assert store.signing.one(waiting.request).deed == "release a lot over a hold"
    store.signing.sign(waiting.request, by=ines(store))

    assert store.lot("L-1").decision == "accepted"


def test_routine_lots_are_signed_with_one_secret_and_one_record_each(measured, source_file):
    store = measured()
    rows = [f"L-2,{bag},1,2026-03-04 10:00:00,0.1,10,10,8.6,µmol/L" for bag in range(1, 6)]
    water = [f"L-2;{sample};04.03.2026;12:0{sample};9,0" for sample in (1, 2)]
    for source, lines in (
        ("sensor", rows),
        ("moisture", water),
        ("laboratory", ["L-2,2026-03-06,,,0.7,"]),
    ):
        store.receive_bytes(f"{source} of L-2", source_file(source, *lines), by=ines(store))
    by = ines(store)
    asked = [
        store.ask_decision(lot, "accepted", by=by, reason="conforms", seen=store.seen(lot))
        for lot in ("L-1", "L-2")
    ]

    store.signing.sign(*(one.request for one in asked), by=by)

    every = store.dispositions()
    assert every["decision"].tolist() == ["accepted", "accepted"]
    assert every["request"].tolist() == [one.request for one in asked]


def test_one_lot_is_not_decided_twice_with_one_secret(measured):
    store = measured()
    by = ines(store)
    asked = [
        store.ask_decision("L-1", decision, by=by, reason="as judged").request
        for decision in ("accepted", "rejected")
    ]

    with pytest.raises(SignatureRefused, match="it is void"):
        store.signing.sign(*asked, by=by)

    assert store.dispositions("L-1").empty


@pytest.mark.parametrize("deed", ["accept a lot", "hold a lot"])
def test_a_request_written_by_hand_lets_no_lot_past_the_rules(measured, deed):
    """Whatever it says it is, it is judged again when it is carried out."""
    store = measured(toxin="")
    ask = Ask(
        deed=deed,
        subject="L-1",
        about={"decision": "accepted"},
        rests_on=store.seen("L-1").rests_on,
        meaning="accepted",
        reason="all conform",
    )
    by = mara(store)
    request = store.signing.ask(ask, by=by).request

    with pytest.raises(DispositionRefused):
        store.signing.sign(request, by=by)

    assert store.dispositions("L-1").empty


def test_a_request_shows_what_is_signed_in_the_words_of_the_trade(measured):
    store = measured(heat="mild")

    about = store.signing.one(concede(store).request).about

    assert (about["lot"], about["decision"], about["until"]) == ("L-1", CONCEDED, "2030-12-31")
    assert about["lines"]["heat (as-is)"].startswith("not conforming, ")
    assert about["lines"]["aflatoxin B1"].startswith("conforming, ")
    assert about["specification"] == "version 1"


def test_one_person_alone_accepts_what_conforms_and_concedes_nothing(small_store, source_file):
    rows = [f"L-1,{bag},1,2026-03-04 10:00:00,0.1,10,10,8.6,µmol/L" for bag in range(1, 6)]
    water = [f"L-1;{sample};04.03.2026;11:0{sample};9,0" for sample in (1, 2)]
    for source, lines in (
        ("sensor", rows),
        ("moisture", water),
        ("laboratory", ["L-1,2026-03-06,,,0.7,"]),
    ):
        small_store.receive_bytes(f"{source}.csv", source_file(source, *lines), by=ME)

    with pytest.raises(SignatureRefused, match="only one works with this store"):
        small_store.dispose("L-1", CONCEDED, by=ME, reason="sauce line agreed", **TERMS)
    small_store.dispose("L-1", "accepted", by=ME, reason="conforms")

    row = small_store.dispositions("L-1").iloc[0]
    assert (row["decided_by"], row["way"]) == (MY_NAME, "system user")
