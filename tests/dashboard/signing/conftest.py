"""A house with people of every role, and one where nobody has an account."""

import pytest

from dashboard.frame import acting, session
from tests.dashboard.signing.house import House, Lots, entered


@pytest.fixture(scope="module")
def house(tmp_path_factory):
    """A store in which everybody of the staff has an account."""
    with entered(tmp_path_factory.mktemp("signing") / "house.db") as store:
        yield store
    acting.hold(lambda: "")


@pytest.fixture
def lonely(tmp_path):
    """A store on one's own machine, where nobody has an account."""
    with House.open(tmp_path / "lonely.db") as store:
        store.lots = Lots()
        yield store
        session.hold(store)
