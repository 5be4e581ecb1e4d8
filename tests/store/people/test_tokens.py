"""Tokens of senders: for a few deeds, for a while, and for no signature."""

from datetime import timedelta

import pytest

from spc.errors import NotAllowed, NotKnown, RegisterRefused, SignatureRefused, UnknownName
from spc.store.people import Grant, permit


def grant(house, *, days=30.0, scope=("receive files",), sender="Bench 2, laboratory"):
    return Grant(sender=sender, scope=scope, until=house.clock.at + timedelta(days=days))


def issued(house, **facts):
    given = grant(house, **facts)
    return house.people.issue_token(given, by=house.signed("mara"), reason="new instrument")


def test_a_token_says_which_sender_it_is_and_what_for(house):
    key = issued(house)

    actor = house.people.who(house.people.token(key))

    assert key.startswith("lh_")
    assert (actor.name, actor.way, actor.roles) == ("Bench 2, laboratory", "token", ())
    assert permit(actor, "receive files") == "sender"


@pytest.mark.parametrize("deed", ["look", "attach files", "accept a lot", "register people"])
def test_a_token_is_for_nothing_but_its_scope(house, deed):
    actor = house.people.who(house.people.token(issued(house)))

    with pytest.raises(NotAllowed, match=r"the token of Bench 2, laboratory may not"):
        permit(actor, deed)


@pytest.mark.parametrize("scope", [(), ("accept a lot",), ("receive files", "concede a lot")])
def test_no_token_is_for_signing(house, scope):
    with pytest.raises(RegisterRefused, match=r"no token is for|for nothing"):
        issued(house, scope=scope)


@pytest.mark.parametrize("days", [-1, 0, 401])
def test_a_token_has_an_end_in_sight(house, days):
    with pytest.raises(RegisterRefused, match="400 days"):
        issued(house, days=days)


def test_a_token_ends_on_its_day(house):
    key = issued(house, days=1)
    assert house.people.who(house.people.token(key))

    house.clock.step(days=1)

    with pytest.raises(NotKnown, match="opens nothing"):
        house.people.who(house.people.token(key))


def test_a_token_that_was_ended_opens_nothing_and_the_others_do(house):
    one, other = issued(house), issued(house, sender="Bench 3")
    first = next(token for token in house.people.tokens() if token.sender.startswith("Bench 2"))

    house.people.end_token(first.token[:10], by=house.signed("mara"), reason="lost in the yard")

    with pytest.raises(NotKnown):
        house.people.who(house.people.token(one))
    assert house.people.who(house.people.token(other)).name == "Bench 3"


def test_issue_and_end_stand_in_the_chain_and_use_does_not(house):
    before = len(house.entries())
    key = issued(house)
    house.people.who(house.people.token(key))
    token = house.people.tokens()[0].token

    house.people.end_token(token, by=house.signed("mara"), reason="replaced")

    assert house.entries()[before:] == [
        ("Mara Quill", "issued a token", "Bench 2, laboratory"),
        ("Mara Quill", "ended a token", "Bench 2, laboratory"),
    ]


def test_only_an_administrator_who_signs_issues_tokens(house):
    given = grant(house)
    with pytest.raises(NotAllowed, match="administrator"):
        house.people.issue_token(given, by=house.signed("ines"), reason="new instrument")
    with pytest.raises(SignatureRefused):
        house.people.issue_token(
            given, by=house.people.session(house.session("mara")), reason="new instrument"
        )
    assert house.people.tokens() == ()


@pytest.mark.parametrize("named", ["", "x", "0"])
def test_a_token_that_is_not_there_cannot_be_ended(house, named):
    with pytest.raises(UnknownName):
        house.people.end_token(named, by=house.signed("mara"), reason="replaced")


def test_a_token_is_no_session_and_a_session_no_token(house):
    token, key = issued(house), house.session("ines")

    for proof in (house.people.session(token), house.people.token(key)):
        with pytest.raises(NotKnown):
            house.people.who(proof)
