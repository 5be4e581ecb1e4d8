"""The next version of a specification is approved with a name and a reason, after a look."""

import shutil

import pytest

from dashboard.frame import session
from spc.store import Store
from spc.store.people.identity import system_user
from tests.dashboard.screen import opened

MATERIAL = "cayenne powder"


@pytest.fixture
def writable(demo_store_file, tmp_path):
    with Store.open(shutil.copy(demo_store_file, tmp_path / "demo.duckdb")) as store:
        session.hold(store)
        yield store


def screen():
    return opened("specifications", material=MATERIAL)


def button(app, label):
    return next(one for one in app.button if one.label.startswith(label))


def fill(app, label, value):
    next(one for one in app.text_input if one.label == label).set_value(value)


@pytest.mark.usefixtures("writable")
def test_an_approval_needs_a_reason():
    app = screen()

    button(app, "Approve version 3").click().run()

    assert not app.exception
    assert "An approval stands with a reason." in [one.value for one in app.error]


def test_an_approved_version_is_in_the_store_with_its_approver(writable):
    app = screen()
    fill(app, "Reason for the change", "yearly review")
    app.run()

    button(app, "Approve version 3").click().run()

    assert not app.exception
    versions = [one for one in writable.catalogue().specifications if one.material == MATERIAL]
    assert max(one.version for one in versions) == 3
    newest = max(versions, key=lambda one: one.version)
    assert (newest.approved_by, newest.reason) == (system_user(), "yearly review")
    assert writable.verify().ok


@pytest.mark.usefixtures("writable")
def test_the_preview_shows_the_last_lots_before_anything_is_approved():
    app = screen()

    button(app, "See what it would have done").click().run()

    assert not app.exception
    assert "No lot would have been judged otherwise." in [one.value for one in app.markdown]
