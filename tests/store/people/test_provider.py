"""The company's provider: whom its answer means, and what it can sign."""

from dataclasses import replace
from datetime import UTC, timedelta

import pytest

from spc.errors import NotKnown, RegisterRefused, SignatureRefused, SignInRefused
from spc.store.people import GROUPS, Answer, Ask, Claims, Entry
from tests.staff import secret_of

ISSUER = "https://sign-in.house.example"
INES = Claims(iss=ISSUER, sub="7f#3a", name="Ines Valbo", groups=("quality",))
NILS = Claims(iss=ISSUER, sub="0b12", name="Nils Aster", email="nils@house.example")
ASK = Ask(
    deed="accept a lot",
    subject="L-1",
    about={},
    rests_on={"evidence": "as it was"},
    meaning="accepted",
    reason="conforms",
)


def mapped(house, **roles):
    rule = {ISSUER: roles or {"quality": "QA officer", "heads": "QA lead"}}
    house.people.set_rule(GROUPS, rule, by=house.signed("mara"), reason="company sign-in")


def bound(house, sign_in="ines", claims=INES):
    entry = Entry(provider=claims.identity)
    house.people.change(sign_in, entry, by=house.signed("mara"), reason="company sign-in")
    return house.people.sign_in_at_provider(claims)


def answered(house, request, **other):
    given = {
        "iss": ISSUER,
        "sub": INES.sub,
        "nonce": request.sha256,
        "auth_time": int(house.clock.at.replace(tzinfo=UTC).timestamp()),
        "id_token": "header.body.signature",
        "keys": "{}",
    }
    return Answer(**given | other)


def signed(house, key, request, answer):
    return house.people.signed_at_provider(
        key, answer, about=request.sha256, asked_at=house.clock.at
    )


def test_a_person_of_the_register_signs_in_by_issuer_and_subject(house):
    actor = house.people.who(house.people.session(bound(house)))

    assert (actor.name, actor.provider) == ("Ines Valbo", f"{ISSUER}#7f#3a")
    assert actor.person == house.people.one("ines").person


@pytest.mark.parametrize(
    "claims", [replace(INES, sub="other"), replace(INES, iss="https://elsewhere.example")]
)
def test_the_same_name_under_another_identity_is_a_stranger(house, claims):
    bound(house)

    with pytest.raises(SignInRefused, match="no person of the register has this identity"):
        house.people.sign_in_at_provider(claims)


@pytest.mark.parametrize(("iss", "sub"), [(f"{ISSUER}#7f", "3a"), ("", "7f#3a"), (ISSUER, "")])
def test_issuer_and_subject_cannot_be_cut_at_another_place(iss, sub):
    with pytest.raises(SignInRefused, match="is no issuer and subject"):
        Claims(iss=iss, sub=sub)


def test_an_invitation_binds_whoever_signs_in_at_the_provider(house):
    entry = Entry(name="Nils Aster", sign_in="nils", roles=("viewer",))
    code = house.people.invite(entry, by=house.signed("mara"), reason="joins the house")

    key = house.people.join(code, NILS)

    assert house.people.who(house.people.session(key)).provider == NILS.identity
    assert house.people.one("nils").way == "provider"
    with pytest.raises(SignInRefused):
        house.people.join(code, replace(NILS, sub="another"))


def test_one_identity_is_one_person(house):
    bound(house)
    code = house.people.invite_again("oskar", by=house.signed("mara"))

    with pytest.raises(RegisterRefused, match="has this provider identity"):
        house.people.join(code, INES)


def test_groups_give_somebody_new_their_roles(house):
    mapped(house)

    key = house.people.sign_in_at_provider(replace(NILS, groups=("heads", "quality", "choir")))

    person = house.people.one("nils@house.example")
    assert (person.name, person.roles) == ("Nils Aster", ("QA officer", "QA lead"))
    assert house.people.who(house.people.session(key)).person == person.person
    assert house.entries()[-1] == (f"provider {ISSUER}", "invited a person", "Nils Aster")


def test_roles_follow_the_groups_at_each_sign_in_and_only_changes_are_entered(house):
    mapped(house)
    house.people.sign_in_at_provider(replace(NILS, groups=("quality",)))
    before = len(house.entries())

    house.people.sign_in_at_provider(replace(NILS, groups=("quality",)))
    assert len(house.entries()) == before
    house.people.sign_in_at_provider(replace(NILS, groups=("heads",)))

    assert house.people.one("nils@house.example").roles == ("QA lead",)
    assert len(house.entries()) == before + 1


def test_whoever_is_in_no_group_with_a_role_stays_out(house):
    mapped(house)

    with pytest.raises(SignInRefused, match="none of their groups has a role"):
        house.people.sign_in_at_provider(replace(NILS, groups=("choir",)))
    assert len(house.people.every()) == 6


def test_a_new_person_whose_name_looks_like_another_s_is_not_entered(house):
    mapped(house)

    with pytest.raises(RegisterRefused, match="Ines Valbo"):
        house.people.sign_in_at_provider(replace(NILS, name="lnes VaIbo", groups=("quality",)))


def test_somebody_who_left_does_not_come_back_by_the_provider(house):
    bound(house)
    house.people.end("ines", by=house.signed("mara"), reason="left in spring")

    with pytest.raises(SignInRefused, match="access has ended"):
        house.people.sign_in_at_provider(INES)


def test_the_first_to_sign_in_at_the_provider_is_an_administrator(empty_house):
    house = empty_house
    by = house.people.system_user()
    house.people.set_rule(
        GROUPS, {ISSUER: {"it": "administrator", "quality": "QA officer"}}, by=by, reason="set up"
    )
    with pytest.raises(SignInRefused, match="must be an administrator's"):
        house.people.sign_in_at_provider(INES)
    assert house.people.alone

    house.people.sign_in_at_provider(replace(NILS, groups=("it",)))

    assert house.people.sign_in_at_provider(INES)


def test_a_secret_no_longer_opens_the_account_of_who_signed_in_at_the_provider(house):
    key = bound(house)

    with pytest.raises(SignInRefused):
        house.session("ines")
    with pytest.raises(SignInRefused):
        house.people.signing(key, secret=secret_of("ines"), name="ines")


def test_a_fresh_sign_in_whose_answer_is_bound_to_the_record_signs_it(house):
    key = bound(house)
    request = house.signing.ask(ASK, by=house.people.session(key))

    (done,) = house.signing.sign(
        request.request, by=signed(house, key, request, answered(house, request))
    )

    assert done.complete
    assert (done.signatures[0].way, done.signatures[0].provider) == ("provider", INES.identity)
    assert "header.body.signature" in house.run("select material from signature")[0][0]


@pytest.mark.parametrize(
    ("other", "why"),
    [
        ({"sub": "0b12"}, "somebody else signed in"),
        ({"iss": "https://elsewhere.example"}, "somebody else signed in"),
        ({"nonce": "0" * 64}, "about something else"),
        ({"nonce": ""}, "about something else"),
        ({"auth_time": 0}, "older than the question"),
        ({"auth_time": 4_000_000_000}, "too long after"),
    ],
)
def test_an_answer_that_is_not_theirs_not_about_it_or_not_fresh_signs_nothing(house, other, why):
    key = bound(house)
    request = house.signing.ask(ASK, by=house.people.session(key))

    with pytest.raises(SignatureRefused, match=why):
        signed(house, key, request, answered(house, request, **other))


def test_an_answer_about_one_record_does_not_sign_another(house):
    key = bound(house)
    one = house.signing.ask(ASK, by=house.people.session(key))
    other = house.signing.ask(replace(ASK, subject="L-2"), by=house.people.session(key))
    proof = signed(house, key, one, answered(house, one))

    with pytest.raises(SignatureRefused, match="asked about something else"):
        house.signing.sign(other.request, by=proof)
    assert house.lots.done == []


def test_a_provider_s_answer_is_stale_after_a_minute(house):
    key = bound(house)
    request = house.signing.ask(ASK, by=house.people.session(key))
    proof = signed(house, key, request, answered(house, request))

    house.clock.step(minutes=1)

    with pytest.raises(NotKnown, match="no longer fresh"):
        house.signing.sign(request.request, by=proof)


def test_a_person_twice_at_the_provider_is_one_who_signs(house):
    """Two entries of the register for one person: the provider knows better."""
    key = bound(house)
    request = house.signing.ask(replace(ASK, deed="concede a lot"), by=house.people.session(key))
    house.signing.sign(request.request, by=signed(house, key, request, answered(house, request)))
    house.run_behind(
        f"update person_event set provider = '{INES.identity}' where sign_in = 'mara'"  # noqa: S608
    )

    with pytest.raises(SignatureRefused, match="known at the provider as the person who signed"):
        house.signing.sign(request.request, by=house.signed("mara"))


def test_an_answer_that_comes_hours_after_the_question_is_too_late(house):
    key = bound(house)
    request = house.signing.ask(ASK, by=house.people.session(key))
    asked_at = house.clock.at - timedelta(hours=1)

    with pytest.raises(SignatureRefused, match="too long after"):
        house.people.signed_at_provider(
            key, answered(house, request), about=request.sha256, asked_at=asked_at
        )
