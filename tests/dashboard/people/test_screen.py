"""The room of people: administrators see everybody, everyone else themselves."""

import pytest

from dashboard.frame import errands, session
from dashboard.gate.signed_in import SignedIn
from tests.dashboard import screen
from tests.dashboard.signing.house import entered
from tests.staff import STAFF, secret_of


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """A store in which everybody of the staff has an account."""
    with entered(tmp_path_factory.mktemp("people") / "house.db") as store:
        yield store


def looked_at_by(house, sign_in):
    """The screen as one of the staff sees it."""
    session.hold(house)
    name, roles = STAFF[sign_in]
    key = house.people.sign_in(sign_in, secret=secret_of(sign_in))
    who = SignedIn(person=sign_in, name=name, roles=roles, way="account")
    return screen.opened("people", who=who, key=key), key


def test_an_administrator_sees_everybody_and_what_can_be_done(house):
    app, _ = looked_at_by(house, "mara")

    assert not app.exception
    assert app.title[0].value == "People"
    register = app.dataframe[1].value
    assert set(register["name"]) == {name for name, _ in STAFF.values()}
    assert {"Invite a person", "Issue a token"} <= {one.label for one in app.expander}


def test_everyone_else_sees_their_own_sessions_and_nobody_else(house):
    app, _ = looked_at_by(house, "jonas")

    assert not app.exception
    assert app.title[0].value == "You"
    told = screen.words(app)
    assert "Jonas Terrow: purchasing" in told
    assert "Ines Valbo" not in told
    assert len(app.dataframe) == 1
    assert not app.expander


def test_signing_out_everywhere_ends_every_session_of_ones_own(house):
    app, key = looked_at_by(house, "vera")
    other = house.people.sign_in("vera", secret=secret_of("vera"))

    screen.field(app, "button", "Sign out everywhere").click()
    app.run()

    assert house.people.sessions("vera").empty
    assert key != other


def test_an_invitation_waits_for_the_administrators_secret(house):
    app, key = looked_at_by(house, "mara")
    form = next(one.form_id for one in app.text_input if one.label.startswith("Name, as"))
    screen.field(app, "text_input", "Name, as it is to be printed", form).input("Nils Orrey")
    screen.field(app, "text_input", "Signs in as", form).input("nils")
    screen.field(app, "multiselect", "Roles", form).select("viewer")
    screen.field(app, "button", "Invite", form).click()
    app.run()

    assert not app.exception
    assert "nils" not in {one.sign_in for one in house.people.every()}
    (errand,) = [one for one in errands._KEPT.values() if one.key == key]
    assert errand.title == "Invite Nils Orrey"
    assert ("roles", "viewer") in errand.told

    code = errand.do(house.people.signing_as("mara", secret=secret_of("mara")))

    assert house.people.invited(code).name == "Nils Orrey"


def test_on_ones_own_machine_the_owner_is_told_to_register_themselves_first(empty_screens):
    app = screen.opened("people")

    assert not app.exception
    assert "Nobody is registered" in screen.words(app)
    assert empty_screens.people.alone
