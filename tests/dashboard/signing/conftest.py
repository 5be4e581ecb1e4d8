"""A house with people of every role, shared by the tests of a file."""

import pytest

from dashboard.frame import acting, session
from spc.store.desks.people_desk import PeopleDesk
from spc.store.people import Entry
from tests.dashboard.signing.house import House, Lots
from tests.store.people.conftest import FAST, STAFF, secret_of


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """A store in which everybody of the staff has an account."""
    with House.open(tmp_path_factory.mktemp("signing") / "house.db") as store:
        store.lots = Lots()
        people = PeopleDesk(store._connection, cost=FAST)
        for sign_in, (name, roles) in STAFF.items():
            by = (
                people.system_user()
                if people.alone
                else people.signing_as("mara", secret=secret_of("mara"))
            )
            entry = Entry(name=name, sign_in=sign_in, roles=roles)
            people.accept(people.invite(entry, by=by, reason="joins"), secret=secret_of(sign_in))
        yield store
    acting.hold(lambda: "")


@pytest.fixture
def lonely(tmp_path):
    """A store on one's own machine, where nobody has an account."""
    with House.open(tmp_path / "lonely.db") as store:
        store.lots = Lots()
        yield store
        session.hold(store)
