"""The small store on the screen, with rows that wait."""

import pytest

from dashboard.frame import session
from tests.dashboard import screen
from tests.staff import ME

SLIPPED = (
    "L-1,1,1,2026-03-04 10:01:00,1.000,1.0,1,17.7,µmol/L",
    "L-1,2,1,2026-03-04 10:02:00,1.000,1.0,1,17.9,µmol/L",
)


@pytest.fixture
def slipped(small_store, source_file):
    """The small store on the screen, with two rows held for their dilution."""
    small_store.receive_bytes("sensor.csv", source_file("sensor", *SLIPPED), by=ME)
    session.hold(small_store)
    screen.signed_in(screen.ME)
    return small_store
