"""What two persons must sign, and how one of them cannot be both."""

from dataclasses import replace

import pytest

from spc.errors import NotAllowed, NotKnown, RegisterRefused, SignatureRefused, UnknownName
from spc.store.people import ALWAYS_TWO, NEEDS_TWO, Ask, Entry, begin, identify, void_about
from tests.staff import secret_of

ACCEPT = Ask(
    deed="accept a lot",
    subject="L-1",
    about={"decision": "accepted", "lines": ["heat conforming"]},
    rests_on={"evidence": "as it was"},
    meaning="accepted",
    reason="conforms",
)
CONCEDE = replace(ACCEPT, deed="concede a lot", meaning="accepted under concession")


def asked(house, ask, sign_in="ines"):
    return house.signing.ask(ask, by=house.people.session(house.session(sign_in))).request


def signed(house, request, sign_in):
    return house.signing.sign(request, by=house.signed(sign_in))[0]


def test_a_routine_lot_is_one_person_s_and_done_at_once(house):
    done = signed(house, asked(house, ACCEPT), "ines")

    assert (done.state, done.alone) == ("complete", False)
    assert house.lots.done == [("L-1", "accepted", 1)]


def test_a_concession_waits_for_a_second_person_and_nothing_is_done_until_then(house):
    request = asked(house, CONCEDE)

    first = signed(house, request, "ines")
    assert (first.state, house.lots.done) == ("waiting", [])
    second = signed(house, request, "mara")

    assert second.state == "complete"
    assert house.lots.done == [("L-1", "accepted under concession", 2)]
    assert [(one.name, one.role) for one in second.signatures] == [
        ("Ines Valbo", "QA officer"),
        ("Mara Quill", "QA lead"),
    ]


def test_the_second_person_signs_at_the_same_screen_with_name_and_secret(house):
    key = house.session("ines")
    request = asked(house, CONCEDE)
    proof = house.people.signing(key, secret=secret_of("ines"), name="ines")
    house.signing.sign(request, by=proof)

    done = signed(house, request, "mara")

    assert done.complete
    assert house.people.who(house.people.session(key)).name == "Ines Valbo"


def test_nobody_is_the_second_person_beside_themselves(house):
    request = asked(house, CONCEDE, "mara")
    signed(house, request, "mara")

    with pytest.raises(SignatureRefused, match="Mara Quill has signed it as the first"):
        signed(house, request, "mara")
    assert house.lots.done == []


def test_a_second_session_of_the_same_person_is_no_second_person(house):
    request = asked(house, CONCEDE, "mara")
    signed(house, request, "mara")
    proof = house.people.signing(house.session("mara"), secret=secret_of("mara"), name="mara")

    with pytest.raises(SignatureRefused):
        house.signing.sign(request, by=proof)


def test_a_new_name_makes_no_second_person(house):
    request = asked(house, CONCEDE)
    signed(house, request, "ines")
    house.people.change("ines", Entry(name="Ines Holt", sign_in="holt", roles=("QA lead",)),
                        by=house.signed("mara"), reason="has married")  # fmt: skip

    with pytest.raises(SignatureRefused):
        house.signing.sign(request, by=house.people.signing_as("holt", secret=secret_of("ines")))


@pytest.mark.parametrize("sign_in", ["jonas", "vera", "oskar"])
def test_a_second_person_has_a_role_that_may_sign_beside_the_first(house, sign_in):
    request = asked(house, CONCEDE)
    signed(house, request, "ines")

    with pytest.raises(NotAllowed, match="beside the first person"):
        signed(house, request, sign_in)


@pytest.mark.parametrize("sign_in", ["jonas", "vera", "petra"])
def test_who_may_not_do_a_deed_cannot_even_ask_for_it(house, sign_in):
    with pytest.raises(NotAllowed):
        asked(house, ACCEPT, sign_in)


def test_a_session_without_a_secret_signs_nothing(house):
    request = asked(house, ACCEPT)

    with pytest.raises(SignatureRefused, match="has not signed this") as refused:
        house.signing.sign(request, by=house.people.session(house.session("ines")))

    assert refused.value.reason_typed == "conforms"


@pytest.mark.parametrize("reason", ["", ".", "..", "ok", "\u00a0.\u00a0"])
def test_a_full_stop_is_no_reason(house, reason):
    with pytest.raises(SignatureRefused, match="no reason"):
        asked(house, replace(ACCEPT, reason=reason))


def test_new_evidence_makes_a_request_void_and_keeps_the_typed_reason(house):
    request = asked(house, CONCEDE)
    signed(house, request, "ines")
    house.lots.evidence["L-1"] = "metal found in bag 3"

    with pytest.raises(SignatureRefused, match="it is metal found in bag 3") as refused:
        signed(house, request, "mara")

    assert refused.value.reason_typed == "conforms"
    assert house.signing.one(request).state == "void"
    assert len(house.signing.one(request).signatures) == 1
    assert house.lots.done == []
    with pytest.raises(SignatureRefused, match="it is void"):
        signed(house, request, "mara")


def test_a_door_that_overtakes_what_waits_makes_it_void(house):
    request = asked(house, CONCEDE)
    signed(house, request, "ines")

    with house.connection.read() as cursor:
        mara = identify(cursor, house.signed("mara"), at=house.clock.at)
    house.connection.write(
        lambda cursor: void_about(
            cursor, "L-1", actor=mara, why="the lot was put on hold", at=house.clock.at
        ),
        token="t",
    )

    one = house.signing.one(request)
    assert (one.state, one.ended_why, one.ended_by) == (
        "void",
        "the lot was put on hold",
        "Mara Quill",
    )


def test_what_cannot_be_carried_out_is_not_signed(house):
    house.lots.evidence["L-1"] = "impossible"
    request = asked(house, replace(ACCEPT, rests_on={"evidence": "impossible"}))

    with pytest.raises(ZeroDivisionError):
        signed(house, request, "ines")

    assert house.signing.one(request).state == "open"


def test_the_other_finds_what_waits_for_them_and_the_first_does_not(house):
    request = asked(house, CONCEDE)
    signed(house, request, "ines")

    waiting = {
        name: [one.request for one in house.signing.pending(by=house.signed(name))]
        for name in ("mara", "ines", "jonas", "vera", "oskar")
    }

    assert waiting == {"mara": [request], "ines": [], "jonas": [], "vera": [], "oskar": []}


def test_what_was_asked_of_one_person_does_not_wait_for_the_others(house):
    oskar = house.people.one("oskar").person
    request = asked(house, replace(CONCEDE, asks=oskar), "mara")
    signed(house, request, "mara")

    assert [one.request for one in house.signing.pending(by=house.signed("oskar"))] == [request]
    assert house.signing.pending(by=house.signed("ines")) == ()


def test_who_is_asked_may_decline_and_says_why(house):
    request = asked(house, CONCEDE)
    signed(house, request, "ines")

    house.signing.decline(request, by=house.people.session(house.session("mara")), reason="too hot")

    one = house.signing.one(request)
    assert (one.state, one.ended_why, one.ended_by) == ("declined", "too hot", "Mara Quill")
    assert house.signing.pending(by=house.signed("mara")) == ()
    with pytest.raises(SignatureRefused, match="it is declined"):
        signed(house, request, "mara")


def test_who_asked_may_take_it_back_and_a_stranger_may_not(house):
    request = asked(house, CONCEDE)
    with pytest.raises(NotAllowed):
        house.signing.decline(
            request, by=house.people.session(house.session("jonas")), reason="no good"
        )

    house.signing.decline(
        request, by=house.people.session(house.session("ines")), reason="asked too early"
    )

    assert house.signing.one(request).state == "declined"


def test_what_is_complete_is_not_signed_again(house):
    request = asked(house, ACCEPT)
    signed(house, request, "ines")

    with pytest.raises(SignatureRefused, match="it is complete"):
        signed(house, request, "mara")
    assert len(house.lots.done) == 1


def test_one_secret_signs_a_ticked_list_with_one_record_each(house):
    wanted = [asked(house, replace(ACCEPT, subject=f"L-{lot}")) for lot in range(5)]

    done = house.signing.sign(*wanted, by=house.signed("ines"))

    assert [one.state for one in done] == ["complete"] * 5
    assert len({one.signatures[0].signature for one in done}) == 5
    assert [lot for lot, _, _ in house.lots.done] == [f"L-{lot}" for lot in range(5)]


def test_one_changed_lot_of_a_list_stops_them_all(house):
    wanted = [asked(house, replace(ACCEPT, subject=f"L-{lot}")) for lot in range(5)]
    house.lots.evidence["L-3"] = "metal found in bag 3"

    with pytest.raises(SignatureRefused, match="L-3"):
        house.signing.sign(*wanted, by=house.signed("ines"))

    assert [house.signing.one(one).state for one in wanted] == [
        "open", "open", "open", "void", "open",
    ]  # fmt: skip
    assert house.lots.done == []


def test_a_door_asks_and_signs_in_one_go(house):
    def door(ask, proof):
        def work(cursor):
            actor = identify(cursor, proof, at=house.clock.at)
            return begin(cursor, actor, ask, at=house.clock.at)

        return house.connection.write(work, token=f"{ask.deed} {proof.given_at}")

    assert door(ACCEPT, house.signed("ines")).complete
    house.clock.step(seconds=1)
    assert door(CONCEDE, house.signed("ines")).state == "waiting"


def test_a_signature_keeps_name_and_role_as_they_were(house):
    request = asked(house, ACCEPT)
    signed(house, request, "ines")
    entry = Entry(name="Ines Holt", roles=("viewer",))
    house.people.change("ines", entry, by=house.signed("mara"), reason="has married")

    one = house.signing.one(request).signatures[0]

    assert (one.name, one.role, one.meaning, one.reason) == (
        "Ines Valbo",
        "QA officer",
        "accepted",
        "conforms",
    )


def test_the_house_may_ask_for_two_where_one_would_do(house):
    house.people.set_rule(
        NEEDS_TWO, ["accept a lot"], by=house.signed("mara"), reason="audit finding"
    )

    assert signed(house, asked(house, ACCEPT), "ines").state == "waiting"


@pytest.mark.parametrize("deed", sorted(ALWAYS_TWO))
def test_the_house_cannot_make_a_concession_one_person_s(house, deed):
    house.people.set_rule(NEEDS_TWO, [], by=house.signed("mara"), reason="we are in a hurry")

    ask = replace(ACCEPT, deed=deed)

    assert house.signing.ask(ask, by=house.signed("mara")).needs == 2


@pytest.mark.parametrize(
    "value", [["accept everything"], "accept a lot", {"accept a lot": 2}, None]
)
def test_a_house_rule_that_cannot_be_is_refused(house, value):
    with pytest.raises(RegisterRefused, match="no list of deeds"):
        house.people.set_rule(NEEDS_TWO, value, by=house.signed("mara"), reason="a try")


def test_a_deed_that_there_is_not_cannot_be_signed(house):
    with pytest.raises(UnknownName, match="no deed 'accept everything'"):
        house.signing.ask(replace(ACCEPT, deed="accept everything"), by=house.signed("mara"))


def test_a_sender_signs_nothing(house):
    with pytest.raises((NotAllowed, NotKnown)):
        house.signing.ask(ACCEPT, by=house.people.token("lh_nothing"))


HOLD = replace(ACCEPT, deed="hold a lot", meaning="on hold", reason="metal found in bag 3")
OVER = replace(ACCEPT, deed="release a lot over a hold", reason="bag 3 was taken out")


def test_who_held_a_lot_is_told_for_two_weeks_that_others_released_it(house):
    signed(house, asked(house, HOLD, "oskar"), "oskar")
    over = asked(house, OVER)
    signed(house, over, "ines")
    holder = house.people.session(house.session("oskar"))
    assert house.signing.released(by=holder) == ()
    signed(house, over, "mara")

    ((hold, release),) = house.signing.released(by=holder)
    assert (hold.reason, release.reason) == ("metal found in bag 3", "bag 3 was taken out")
    assert house.signing.released(by=house.people.session(house.session("mara"))) == ()

    house.clock.step(days=15)
    assert house.signing.released(by=house.people.session(house.session("oskar"))) == ()
