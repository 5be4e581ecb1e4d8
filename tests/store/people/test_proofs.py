"""What a door believes when it is told who acts."""

from dataclasses import replace

import pytest

from spc.errors import NotKnown, SignInRefused
from spc.store.people import Entry, identify, identity
from spc.store.people.proofs import SessionProof, SignedProof, SystemUserProof
from tests.staff import secret_of


def who(house, proof):
    with house.connection.read() as cursor:
        return identify(cursor, proof, at=house.clock.at)


@pytest.mark.parametrize("text", ["Mara Quill", "mara", "os:root", "", None, 7, {"person": "mara"}])
def test_a_plain_text_is_refused_with_the_line_that_makes_a_proof(house, text):
    with pytest.raises(NotKnown, match=r"by=store\.people\.system_user\(\)"):
        who(house, text)


def test_what_was_typed_is_not_repeated_because_it_may_be_a_key(house):
    key = house.session("ines")

    with pytest.raises(NotKnown) as refused:
        who(house, key)

    assert key not in str(refused.value)
    assert key not in repr(house.people.session(key))


def test_something_that_looks_like_a_proof_is_none(house):
    class Session(SessionProof):
        """Ours in all but name."""

    with pytest.raises(NotKnown):
        who(house, Session(key=house.session("ines")))


def test_a_secret_given_now_is_a_signature_by_that_person(house):
    actor = who(house, house.signed("ines"))

    assert (actor.name, actor.signed, actor.way) == ("Ines Valbo", True, "secret")
    assert actor.proven_at == house.clock.at


def test_a_secret_is_stale_after_a_minute(house):
    proof = house.signed("ines")

    house.clock.step(seconds=59)
    assert who(house, proof).signed
    house.clock.step(seconds=1)

    with pytest.raises(NotKnown, match="no longer fresh"):
        who(house, proof)


def test_a_proof_of_a_secret_cannot_be_written_by_hand(house):
    mara, proof = house.people.one("mara"), house.signed("ines")

    for forged in (
        replace(proof, person=mara.person),
        replace(proof, given_at=proof.given_at.replace(hour=9)),
        replace(proof, way="provider"),
        replace(proof, about="0" * 64),
        SignedProof(
            person=mara.person,
            session="",
            way="secret",
            given_at=house.clock.at,
            proven_at=house.clock.at,
        ),
    ):
        house.clock.at = forged.given_at
        with pytest.raises(NotKnown):
            who(house, forged)


def test_the_first_signature_of_a_session_asks_for_the_name_and_the_next_do_not(house):
    key, secret = house.session("ines"), secret_of("ines")
    with pytest.raises(SignInRefused):
        house.people.signing(key, secret=secret)

    house.people.signing(key, secret=secret, name="ines")

    assert not house.people.who(house.people.session(key)).names_first
    assert who(house, house.people.signing(key, secret=secret)).name == "Ines Valbo"


def test_a_new_session_asks_for_the_name_again(house):
    house.people.signing(house.session("ines"), secret=secret_of("ines"), name="ines")

    assert house.people.who(house.people.session(house.session("ines"))).names_first


def test_nobody_signs_with_another_s_name_and_secret_in_one_s_session(house):
    key = house.session("ines")

    with pytest.raises(SignInRefused):
        house.people.signing(key, secret=secret_of("mara"), name="mara")


def test_a_signature_in_a_session_that_ended_is_none(house):
    key = house.session("ines")
    proof = house.people.signing(key, secret=secret_of("ines"), name="ines")

    house.people.end_session(key)

    with pytest.raises(NotKnown, match="session has ended"):
        who(house, proof)


def test_a_signature_of_somebody_who_left_since_is_none(house):
    proof = house.signed("oskar")

    house.people.end("oskar", by=house.signed("mara"), reason="left in spring")

    with pytest.raises(NotKnown):
        who(house, proof)


def test_on_one_s_own_machine_the_computer_s_user_has_every_role(empty_house):
    actor = who(empty_house, empty_house.people.system_user())

    assert actor.person == actor.name == f"os:{identity.system_user()}"
    assert len(actor.roles) == 6


def test_the_user_s_name_is_the_system_s_and_not_the_environment_s(empty_house, monkeypatch):
    monkeypatch.setenv("LOGNAME", "mallory")
    monkeypatch.setenv("USER", "mallory")

    assert who(empty_house, empty_house.people.system_user()).name != "os:mallory"


def test_another_user_than_the_one_who_runs_the_program_is_refused(empty_house):
    with pytest.raises(NotKnown, match="does not run for the computer's user mallory"):
        who(empty_house, SystemUserProof(user="mallory"))


def test_where_people_sign_in_the_computer_s_user_is_nobody(house):
    with pytest.raises(NotKnown, match="people sign in to this store"):
        who(house, house.people.system_user())
    assert not house.people.alone


def test_an_invitation_alone_does_not_shut_the_computer_s_user_out(empty_house):
    code = empty_house.people.invite(
        Entry(name="Mara Quill", sign_in="mara", roles=("administrator",)),
        by=empty_house.people.system_user(),
        reason="first of us",
    )
    assert empty_house.people.alone

    empty_house.people.accept(code, secret=secret_of("mara"))

    assert not empty_house.people.alone
