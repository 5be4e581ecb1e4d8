"""A house of one: what may be done alone, how it is marked, and what stays refused."""

from dataclasses import replace

import pytest

from spc.errors import SignatureRefused
from spc.store.people import ALONE, ALWAYS_TWO, Ask
from tests.staff import STAFF

OWN = Ask(
    deed="issue one's own blend",
    subject="2026-0001",
    about={"batch_kg": 500.0},
    rests_on={"evidence": "as it was"},
    meaning="issued",
    reason="order of Monday",
)


def begun(house, ask):
    by = house.people.system_user() if house.people.alone else house.signed("mara")
    request = house.signing.ask(ask, by=by)
    return house.signing.sign(request.request, by=by)[0]


@pytest.fixture
def lone_house(empty_house):
    """A house with one person."""
    empty_house.enter("mara")
    return empty_house


@pytest.mark.parametrize("registered", [False, True])
def test_one_s_own_blend_is_issued_alone_and_marked(empty_house, registered):
    if registered:
        empty_house.enter("mara")

    done = begun(empty_house, OWN)

    assert (done.complete, done.alone) == (True, True)
    assert empty_house.lots.done == [("2026-0001", "issued", 1)]


@pytest.mark.parametrize("deed", sorted(ALWAYS_TWO | {"void results", "withdraw results"}))
@pytest.mark.parametrize("registered", [False, True])
def test_concession_release_and_correction_stay_refused(empty_house, registered, deed):
    if registered:
        empty_house.enter("mara")

    with pytest.raises(SignatureRefused, match=r"needs a second person.*lotheat people invite"):
        begun(empty_house, replace(OWN, deed=deed))


@pytest.mark.parametrize("deed", sorted(ALONE))
def test_what_may_be_done_alone_asks_for_one_signature(lone_house, deed):
    assert lone_house.signing.ask(replace(OWN, deed=deed), by=lone_house.signed("mara")).needs == 1


def test_a_routine_decision_of_a_house_of_one_waits_for_nobody(lone_house):
    done = begun(lone_house, replace(OWN, deed="accept a lot"))

    assert (done.complete, done.alone) == (True, False)


def test_a_second_person_countersigns_later_and_it_is_not_done_again(lone_house):
    done = begun(lone_house, OWN)
    lone_house.enter("petra")
    (waiting,) = lone_house.signing.to_countersign(by=lone_house.signed("petra"))

    (after,) = lone_house.signing.sign(waiting.request, by=lone_house.signed("petra"))

    assert (after.request, after.alone) == (done.request, False)
    assert [one.name for one in after.signatures] == ["Mara Quill", STAFF["petra"][0]]
    assert lone_house.lots.done == [("2026-0001", "issued", 1)]
    assert lone_house.signing.to_countersign(by=lone_house.signed("petra")) == ()
    assert lone_house.entries()[-1] == ("Petra Lind", "countersigned: issued", "2026-0001")


def test_who_did_it_alone_does_not_countersign(lone_house):
    done = begun(lone_house, OWN)

    assert lone_house.signing.to_countersign(by=lone_house.signed("mara")) == ()
    with pytest.raises(SignatureRefused):
        lone_house.signing.sign(done.request, by=lone_house.signed("mara"))


def test_with_a_second_person_registered_one_s_own_blend_waits(lone_house):
    lone_house.enter("petra")

    done = begun(lone_house, OWN)

    assert (done.state, lone_house.lots.done) == ("waiting", [])


def test_the_computer_s_user_is_told_in_every_record(empty_house):
    begun(empty_house, OWN)

    (signature,) = empty_house.run("select person, name, way, one_person from signature")
    assert signature[0] == signature[1]
    assert signature[0].startswith("os:")
    assert signature[2:] == ("system user", True)
