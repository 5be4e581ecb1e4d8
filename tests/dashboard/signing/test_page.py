"""The page on which a signature is given."""

import pytest

from dashboard.frame import errands
from dashboard.frame.errands import Errand
from spc.store.people import Entry
from tests.dashboard.signing.house import Screen
from tests.staff import secret_of


@pytest.fixture
def mara(house):
    return Screen(house, "mara")


def state(screen, request):
    return screen.house.signing.one(request.request).state


def test_what_is_signed_is_shown_and_the_secret_signs_it(mara):
    lot = mara.ask("L-1")

    shown = mara.look(lot)
    assert "&lt;b&gt;Delta&lt;/b&gt; Mill" in shown.text
    assert "conforming, 41 200 SHU" in shown.text
    assert "You sign as Mara Quill, QA lead" in shown.text
    assert "<script" not in shown.text

    signed = mara.sign(lot, **mara.secret())

    assert (signed.status_code, state(mara, lot)) == (200, "complete")
    assert "Mara Quill, QA lead" in signed.text
    assert mara.house.lots.done[-1] == "L-1"


def test_the_name_is_asked_at_the_first_signature_of_a_session_and_not_again(mara):
    first, second = mara.ask("L-2"), mara.ask("L-3")
    assert 'name="name"' in mara.look(first).text
    assert mara.sign(first, secret=secret_of("mara")).status_code == 401

    mara.sign(first, **mara.secret())

    assert 'name="name"' not in mara.look(second).text
    mara.sign(second, secret=secret_of("mara"))
    assert state(mara, second) == "complete"


def test_a_wrong_secret_signs_nothing_and_says_so_in_place(mara):
    lot = mara.ask("L-4")

    answer = mara.sign(lot, name="mara", secret="odd guess")

    assert (answer.status_code, state(mara, lot)) == (401, "open")
    assert "Nothing was signed." in answer.text
    assert "odd guess" not in answer.text
    assert 'type="password"' in answer.text


def test_one_secret_signs_a_ticked_list_with_a_record_each(mara):
    lots = [mara.ask(f"L-{number}") for number in (5, 6, 7)]
    assert "Sign all 3" in mara.look(*lots).text

    mara.sign(*lots, **mara.secret())

    assert [state(mara, one) for one in lots] == ["complete"] * 3
    assert mara.house.lots.done[-3:] == ["L-5", "L-6", "L-7"]


def test_changed_evidence_refuses_the_signature_and_says_what_is_new(mara):
    lots = [mara.ask("L-8"), mara.ask("L-9")]
    mara.house.lots.evidence["L-9"] = "a new result"

    answer = mara.sign(*lots, **mara.secret())

    assert answer.status_code == 409
    assert "a new result came" in answer.text
    assert 'type="password"' not in answer.text
    assert [state(mara, one) for one in lots] == ["open", "void"]


def test_the_second_person_signs_at_the_same_screen_with_their_own_secret(mara):
    lot = mara.ask("L-10", deed="concede a lot", meaning="accepted by concession")
    shown = mara.sign(lot, **mara.secret())
    assert "waits for a second person" in shown.text
    assert "L-10" not in mara.house.lots.done

    again = mara.sign(lot, beside="yes", **mara.secret())
    assert again.status_code == 409
    mara.sign(lot, beside="yes", name="ines", secret=secret_of("ines"))

    assert state(mara, lot) == "complete"
    assert [one.name for one in mara.house.signing.one(lot.request).signatures] == [
        "Mara Quill",
        "Ines Valbo",
    ]


def test_the_second_person_signs_later_on_a_screen_of_their_own(mara, house):
    lot = mara.ask("L-11", deed="concede a lot", meaning="accepted by concession")
    mara.sign(lot, **mara.secret())
    ines = Screen(house, "ines")

    shown = ines.look(lot).text
    assert "Mara Quill (QA lead) asks you to sign with them" in shown
    ines.sign(lot, **ines.secret())

    assert state(ines, lot) == "complete"


def test_a_role_that_may_not_is_told_which_may_and_is_asked_no_secret(mara, house):
    lot = mara.ask("L-12")

    shown = Screen(house, "jonas").look(lot).text

    assert "QA officer or QA lead" in shown
    assert 'type="password"' not in shown


def test_on_ones_own_machine_a_button_confirms_and_says_what_that_is_worth(lonely):
    owner = Screen(lonely, "")
    lot = owner.ask("L-1")

    shown = owner.look(lot).text
    assert "one person, no second signature" in shown
    assert 'type="password"' not in shown
    owner.sign(lot)

    assert state(owner, lot) == "complete"


def test_an_errand_is_done_with_the_secret_once_and_only_in_its_own_session(mara, house):
    entry = Entry(name="Nils Orrey", sign_in="nils", roles=("viewer",))
    errand = Errand(
        title="Invite Nils Orrey",
        told=(("roles", "viewer"),),
        do=lambda by: house.people.invite(entry, by=by, reason="joins"),
        key=mara.key,
    )
    name = errands.keep(errand)
    assert Screen(house, "vera").look(request=name).status_code == 404
    assert mara.sign(asked=name, name="mara", secret="odd guess").status_code == 401
    assert not errand.done

    done = mara.sign(asked=name, **mara.secret())

    assert "Done." in done.text
    assert house.people.invited(errand.answer).name == "Nils Orrey"
    mara.sign(asked=name, **mara.secret())
    assert [one.name for one in house.people.every()].count("Nils Orrey") == 1


def test_a_page_of_nothing_says_so(mara):
    assert mara.look().status_code == 404
    assert mara.look(request="no such").status_code == 404
