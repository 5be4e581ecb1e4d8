"""Sessions: how long they hold, who ends them, and what they leave behind."""

import pytest

from spc.errors import NotAllowed, NotKnown, SignInRefused
from spc.store import Store
from tests.staff import secret_of


def holds(house, key):
    try:
        return house.people.who(house.people.session(key)).name != ""
    except NotKnown:
        return False


def test_a_session_says_who_somebody_is_and_that_nothing_was_signed(house):
    actor = house.people.who(house.people.session(house.session("ines")))

    assert (actor.name, actor.roles, actor.way) == ("Ines Valbo", ("QA officer",), "session")
    assert (actor.signed, actor.names_first) == (False, True)


@pytest.mark.parametrize(("minutes", "stands"), [(29.9, True), (30.0, False)])
def test_a_session_ends_after_thirty_idle_minutes(house, minutes, stands):
    key = house.session("ines")

    house.clock.step(minutes=minutes)

    assert holds(house, key) is stands


def test_a_session_that_is_used_ends_after_twelve_hours(house):
    key = house.session("ines")
    for _ in range(12 * 4 - 1):
        house.clock.step(minutes=15)
        assert holds(house, key)

    house.clock.step(minutes=15)

    assert not holds(house, key)


def test_that_a_session_was_seen_is_written_every_five_minutes_at_most(house):
    key = house.session("ines")
    begun = house.clock.at
    written = []
    for _ in range(12):
        house.clock.step(minutes=1)
        assert holds(house, key)
        written.append(house.people.sessions("ines")["seen_at"].max().minute - begun.minute)

    assert written == [0, 0, 0, 0, 5, 5, 5, 5, 5, 10, 10, 10]


def test_a_clock_that_is_set_back_ends_no_session_and_lengthens_none(house):
    key = house.session("ines")
    house.clock.step(minutes=20)
    assert holds(house, key)

    house.clock.step(hours=-1)

    assert holds(house, key)
    house.clock.step(hours=1, minutes=31)
    assert not holds(house, key)


def test_two_sessions_of_one_person_end_each_for_itself(house):
    one, other = house.session("ines"), house.session("ines")

    house.people.end_session(one)

    assert (holds(house, one), holds(house, other)) == (False, True)


def test_two_persons_have_two_sessions_in_two_browsers(house):
    ines, mara = house.session("ines"), house.session("mara")

    names = [house.people.who(house.people.session(key)).name for key in (ines, mara)]

    assert names == ["Ines Valbo", "Mara Quill"]


def test_a_person_ends_all_their_own_sessions(house):
    keys = [house.session("ines") for _ in range(3)]

    house.people.end_sessions("ines", by=house.people.session(keys[0]))

    assert not any(holds(house, key) for key in keys)


def test_an_administrator_ends_the_sessions_of_another_and_nobody_else_does(house):
    key = house.session("ines")
    with pytest.raises(NotAllowed):
        house.people.end_sessions("ines", by=house.people.session(house.session("oskar")))
    assert holds(house, key)

    house.people.end_sessions("ines", by=house.people.session(house.session("mara")))

    assert not holds(house, key)


@pytest.mark.parametrize("key", ["", "x", "0" * 64, "\ud800", "' or true --"])
def test_a_key_that_nobody_was_given_opens_nothing(house, key):
    assert not holds(house, key)


def test_the_digest_of_a_key_that_stands_in_the_file_opens_nothing(house):
    house.session("ines")

    for (digest,) in house.run("select session from session"):
        assert not holds(house, digest)


def test_signing_in_and_looking_move_neither_the_chain_nor_the_revision(house):
    before = len(house.entries())

    key = house.session("ines")
    house.clock.step(minutes=6)
    assert holds(house, key)
    house.people.end_session(key)

    assert len(house.entries()) == before


def test_the_store_s_revision_does_not_know_sessions(house):
    house.connection.close()
    with Store.open(house.path) as store:
        before = store.revision()

        key = store.people.sign_in("ines", secret=secret_of("ines"))
        store.people.who(store.people.session(key))

        assert store.revision() == before


def test_a_session_outlives_the_program_that_opened_it(house):
    key = house.session("ines")
    house.connection.close()

    again = type(house)(house.path, house.clock)

    assert holds(again, key)
    again.connection.close()


def test_the_sessions_of_a_locked_account_stay_but_sign_nothing(house):
    key = house.session("ines")
    for _ in range(5):
        with pytest.raises(SignInRefused):
            house.people.sign_in("ines", secret="not the right secret")

    assert holds(house, key)
    with pytest.raises(SignInRefused):
        house.people.signing(key, secret=secret_of("ines"), name="ines")
