# ruff: noqa: RUF001 - letters that look alike are what this is about
"""The register: who is entered, changed and ended, by whom, and what of it stays."""

import json

import pytest

from spc.errors import NotAllowed, NotKnown, RegisterRefused, SignatureRefused, UnknownName
from spc.store.desks.people_desk import PeopleDesk
from spc.store.people import Entry

NEW = Entry(name="Nils Aster", sign_in="nils", roles=("QA officer",))


def invite(house, entry):
    return house.people.invite(entry, by=house.signed("mara"), reason="joins the house")


def test_a_person_is_entered_by_a_signed_entry_of_the_audit_chain(house):
    before = len(house.entries())

    invite(house, NEW)

    assert house.entries()[before:] == [
        ("Mara Quill", "invited a person", "Nils Aster"),
        ("Mara Quill", "invited to an account", "Nils Aster"),
    ]
    told = json.loads(house.run("select detail from audit order by sequence desc limit 2")[1][0])
    row = told["written"]["person_event"][0]
    mara = house.people.one("mara")
    assert told["by"] == {
        "person": mara.person,
        "name": "Mara Quill",
        "roles": ["QA lead", "administrator"],
        "way": "secret",
    }
    assert (row["signed_by"], row["reason"]) == (mara.person, "joins the house")


def test_a_person_is_an_id_which_no_change_of_the_name_changes(house):
    before = house.people.one("ines")

    house.people.change(
        "ines", Entry(name="Ines Holt"), by=house.signed("mara"), reason="has married"
    )

    after = house.people.one("ines")
    assert (after.person, after.name) == (before.person, "Ines Holt")
    assert [one["what"] for one in house.people.history("ines")] == ["invited", "changed"]


@pytest.mark.parametrize(
    "name", ["jonas  terrow", "Jonas\u00a0Terrow", "JONAS TERROW", "Jonas Теrrоw", "J0nas Terrow"]
)
def test_nobody_is_entered_twice_under_a_name_that_looks_the_same(house, name):
    with pytest.raises(RegisterRefused, match=r"looks the same|mixes letters"):
        invite(house, Entry(name=name, sign_in="another", roles=("QA lead",)))

    assert len(house.people.every()) == 6


def test_a_sign_in_name_that_looks_the_same_is_refused(house):
    with pytest.raises(RegisterRefused, match="has this sign-in name"):
        invite(house, Entry(name="Somebody Else", sign_in="1nes", roles=("viewer",)))


def test_the_name_of_somebody_who_left_is_not_given_again(house):
    house.people.end("oskar", by=house.signed("mara"), reason="left in spring")

    with pytest.raises(RegisterRefused, match="Oskar Brenn"):
        invite(house, Entry(name="Oskar Brenn", sign_in="oskar2", roles=("viewer",)))


@pytest.mark.parametrize(
    "entry",
    [
        Entry(name="Nils Aster", sign_in="nils"),
        Entry(name="Nils Aster", roles=("viewer",)),
        Entry(sign_in="nils", roles=("viewer",)),
        Entry(name="Nils Aster", sign_in="nils", roles=()),
        Entry(name="Nils Aster", sign_in="nils", roles=("boss",)),
        Entry(name="Nils Aster", sign_in="nils", roles=("viewer",), provider="nils"),
    ],
)
def test_an_entry_without_name_sign_in_name_or_role_is_refused(house, entry):
    with pytest.raises(RegisterRefused):
        invite(house, entry)


@pytest.mark.parametrize("reason", ["", ".", " . ", "\u200b"])
def test_a_full_stop_is_no_reason(house, reason):
    with pytest.raises(RegisterRefused, match="no reason"):
        house.people.end("oskar", by=house.signed("mara"), reason=reason)


@pytest.mark.parametrize("sign_in", ["ines", "jonas", "petra", "vera"])
def test_only_an_administrator_registers_people_and_the_refusal_says_so(house, sign_in):
    with pytest.raises(NotAllowed, match=r"may not register people.*role administrator"):
        house.people.invite(NEW, by=house.signed(sign_in), reason="joins the house")


def test_a_session_alone_registers_nobody(house):
    key = house.session("mara")

    with pytest.raises(
        SignatureRefused, match=r"has not signed this.*people\.signing\(key, secret"
    ):
        house.people.invite(NEW, by=house.people.session(key), reason="joins the house")


def test_the_last_administrator_stays(house):
    for work in (
        lambda by: house.people.end("mara", by=by, reason="leaves us"),
        lambda by: house.people.change("mara", Entry(roles=("QA lead",)), by=by, reason="enough"),
    ):
        with pytest.raises(RegisterRefused, match="nobody would be left"):
            work(house.signed("mara"))


def test_somebody_who_left_is_nobody_at_once_and_their_entry_stays(house):
    key = house.session("oskar")

    house.people.end("oskar", by=house.signed("mara"), reason="left in spring")

    with pytest.raises(NotKnown, match="session has ended"):
        house.people.who(house.people.session(key))
    assert house.people.one("oskar").state == "ended"


def test_somebody_who_comes_back_chooses_a_new_secret(house):
    house.people.end("oskar", by=house.signed("mara"), reason="left in spring")

    house.people.change("oskar", Entry(), by=house.signed("mara"), reason="is back")

    assert house.people.one("oskar").state == "invited"
    code = house.people.invite_again("oskar", by=house.signed("mara"))
    key = house.people.accept(code, secret="quite another secret")
    assert house.people.who(house.people.session(key)).name == "Oskar Brenn"


def test_a_change_that_changes_nothing_is_refused(house):
    with pytest.raises(RegisterRefused, match="nothing would change"):
        house.people.change(
            "ines", Entry(name="Ines  Valbo"), by=house.signed("mara"), reason="typo"
        )


def test_a_role_that_is_taken_away_is_gone_in_sessions_that_are_open(house):
    key = house.session("ines")

    house.people.change(
        "ines", Entry(roles=("viewer",)), by=house.signed("mara"), reason="moved on"
    )

    assert house.people.who(house.people.session(key)).roles == ("viewer",)


def test_somebody_unknown_is_told_with_names_that_are_near(house):
    with pytest.raises(UnknownName, match="Did you mean ines"):
        house.people.one("inez")


def test_the_register_is_the_same_for_every_desk_on_the_store(house):
    invite(house, NEW)

    assert PeopleDesk(house.connection).one("nils").name == "Nils Aster"
