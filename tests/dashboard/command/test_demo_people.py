"""The demo's people: of every role, each with a secret, and only in the demo."""

from pathlib import Path

import pytest

import demo_data
from dashboard.command import demo_people
from dashboard.command.demo_people import Staff, invented, visitor
from spc.store import Store
from spc.store.people import ROLES
from tests.staff import enter

PEOPLE = invented(Path(demo_data.__file__).parent)


@pytest.fixture(scope="module")
def store(tmp_path_factory):
    """An empty store in which the demo's people are registered."""
    with Store.open(tmp_path_factory.mktemp("demo") / "demo.db") as opened:
        Staff(opened, PEOPLE).enter()
        yield opened


def test_there_is_somebody_of_every_role(store):
    assert {role for one in store.people.every() for role in one.roles} == set(ROLES)


def test_the_link_signs_a_visitor_in_as_who_leads_and_administers(store):
    key = visitor(PEOPLE)(store)

    who = store.people.who(store.people.session(key))

    assert (who.name, who.roles) == ("Mara Quill", ("QA lead", "administrator"))


def test_each_signs_with_the_secret_that_is_printed(store):
    printed = demo_people.table(PEOPLE)
    name, secret = printed.iloc[1][["signs in as", "secret"]]

    proof = store.people.signing_as(name, secret=secret)

    assert store.people.who(proof).name == "Ines Valbo"
    assert store.people.who(Staff(store, PEOPLE).proof("Ines Valbo")).signed


def test_entering_them_again_changes_nothing(store):
    before = store.revision()

    Staff(store, PEOPLE).enter()

    assert store.revision() == before


def test_a_store_with_people_of_its_own_keeps_to_them(tmp_path):
    with Store.open(tmp_path / "own.db") as own:
        enter(own, "mara")

        Staff(own, PEOPLE[1:]).enter()

        assert [one.name for one in own.people.every()] == ["Mara Quill"]
