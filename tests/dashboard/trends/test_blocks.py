"""Blocks of Trends: an investigation as it stands in the record."""

import pytest

from dashboard.trends.blocks import investigations
from tests.dashboard.page import EVIL, Page
from tests.dashboard.streams import DRY
from tests.staff import ME, MY_NAME


@pytest.fixture
def blocks(small_store):
    """Every block that shows what people wrote, with a script as the text."""
    name = small_store.investigate(DRY, EVIL, signals=[EVIL], cause=EVIL, action=EVIL, by=ME)
    small_store.close_investigation(name, conclusion=EVIL, by=ME)
    return {
        "investigations": investigations(
            small_store.investigations(DRY).assign(opened_by=EVIL, closed_by=EVIL)
        ),
    }


@pytest.mark.parametrize("block", ["investigations"])
def test_what_people_write_is_shown_as_they_wrote_it_and_never_run(blocks, block):
    page = Page(blocks[block])

    assert "script" not in page.tags
    assert EVIL in page.text or EVIL in page.labels


def test_an_investigation_is_open_until_somebody_closes_it(small_store):
    name = small_store.investigate(
        DRY,
        "L-1",
        signals=["beyond limits", "two of three far out"],
        cause="new mill screen",
        action="asked the supplier",
        by=ME,
    )
    opened = investigations(small_store.investigations(DRY))
    small_store.close_investigation(name, conclusion="screen replaced", by=ME)

    closed = investigations(small_store.investigations(DRY))

    assert f"new mill screen; asked the supplier. Opened by {MY_NAME} on " in Page(opened).text
    assert "(beyond limits, two of three far out)" in Page(opened).text
    assert Page(opened).text.endswith(", open.")
    assert f"closed by {MY_NAME} on " in Page(closed).text
    assert Page(closed).text.endswith(": screen replaced.")
    assert Page(closed).links == ["/lot?lot=L-1"]
