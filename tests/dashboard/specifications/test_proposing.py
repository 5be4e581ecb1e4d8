"""The next version of a specification is proposed, looked at, and signed by who is signed in."""

import shutil
from datetime import timedelta

import pytest

from dashboard.frame import approval_words, session
from spc.store import Store
from spc.store.catalogue.approvals import Key
from tests.dashboard.screen import field, opened, words
from tests.staff import ME

MATERIAL = "cayenne powder"
THIRD = Key("specification", MATERIAL, 3)


@pytest.fixture
def writable(demo_store_file, tmp_path):
    with Store.open(shutil.copy(demo_store_file, tmp_path / "demo.duckdb")) as store:
        session.hold(store)
        yield store


def screen():
    return opened("specifications", material=MATERIAL)


def propose(store, *, upper=None, since=None):
    """The third version as somebody's file brings it; without a limit, as the second has it."""
    text = demo_version(store)
    if upper is not None:
        text = text.replace("upper = 60000.0", f"upper = {upper}")
    since = since or store.today() + timedelta(days=1)
    text = text.replace("effective_from = 2025-09-01", f"effective_from = {since}")
    store.receive_bytes("third.toml", text.encode(), by=ME)


def demo_version(store):
    (_, content) = store.receipt_bytes(store.receipts()["receipt"].iloc[-1])
    text = content.decode()
    found = [
        "[[specification]]" + part
        for part in text.split("[[specification]]")[1:]
        if f'material = "{MATERIAL}"' in part and "version = 2" in part
    ]
    return found[0].replace("version = 2", "version = 3")


@pytest.mark.usefixtures("writable")
def test_a_proposal_needs_a_reason():
    app = field(screen(), "button", "Propose version 3").click().run()

    assert not app.exception
    assert "A proposal stands with a reason." in words(app)


def test_a_proposed_version_waits_and_judges_nothing(writable):
    app = screen()
    field(app, "text_input", "Reason for the change").set_value("yearly review").run()

    app = field(app, "button", "Propose version 3").click().run()

    assert not app.exception
    assert "Version 3 is proposed; it waits for its approval." in words(app)
    (waits,) = writable.approvals.proposals()
    assert (waits.key, waits.entry.reason) == (THIRD, "yearly review")
    assert "It changes nothing, so it cannot be approved." in words(screen())


def test_an_approval_shows_what_changes_and_its_effect_and_is_signed(writable):
    propose(writable, upper=45000.0)
    app = screen()
    assert "upper 60" in words(app)
    assert "would have been judged otherwise" in words(app)
    field(app, "text_area", approval_words.REASON).set_value("complaints about hot lots")

    app = field(app, "button", "Approve version 3").click().run()
    (asked,) = writable.signing.about("specification 3 of cayenne powder")
    unsigned = [one.version for one in writable.catalogue().specifications]
    writable.signing.sign(asked.request, by=writable.people.system_user())

    assert not app.exception
    assert asked.state == "open"
    assert 3 not in unsigned
    assert "one person, not countersigned yet" in words(screen())
    assert writable.verify().ok


def test_an_approval_for_a_past_day_says_that_it_takes_two_persons(writable):
    propose(writable, upper=45000.0, since="2026-10-01")
    app = screen()
    field(app, "date_input", "In force from").set_value(writable.today() - timedelta(days=9))

    app.run()

    assert "takes the signatures of two persons" in words(app)


@pytest.mark.usefixtures("writable")
def test_the_preview_shows_the_last_lots_before_anything_is_proposed():
    app = field(screen(), "button", "See what it would have done to the last 50 lots").click().run()

    assert not app.exception
    assert "No lot would have been judged otherwise." in [one.value for one in app.markdown]
