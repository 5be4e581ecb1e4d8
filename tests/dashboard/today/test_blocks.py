"""Blocks of Today: every link finds its lot and its stream."""

from urllib.parse import parse_qs, urlsplit

import pandas as pd
import pytest

from dashboard.today.blocks import held, moved
from dashboard.today.tables import held_kinds
from tests.dashboard.page import EVIL, Page


@pytest.fixture
def blocks(demo_store, charted):
    """Every block that shows what people wrote, with a script as the text."""
    survey = charted(
        {"values": [3.9e4, 4.1e4] * 6 + [9e4], "baseline": 12, "lot": EVIL, "supplier": EVIL}
    )
    rows = demo_store.held().head(1)
    return {
        "moved": moved(survey.signals().assign(material=EVIL)),
        "held": held(held_kinds(rows.assign(name=EVIL, code=EVIL))),
    }


@pytest.mark.parametrize("block", ["moved", "held"])
def test_what_people_write_is_shown_as_they_wrote_it_and_never_run(blocks, block):
    page = Page(blocks[block])

    assert "script" not in page.tags
    assert EVIL in page.text or EVIL in page.labels


# Signals


def test_signals_of_one_stream_stand_on_one_line_with_its_newest_lot_first(charted):
    high = [3.9e4, 4.1e4] * 6 + [9e4, 9e4]
    survey = charted(
        {"values": high, "baseline": 12}, {"values": high, "baseline": 12, "basis": "dry"}
    )

    block = moved(survey.signals())

    assert block.count("<li>") == 2
    first = Page(block.split("</li>")[0])
    assert "at L-14: beyond limits" in first.text
    assert first.text.endswith("; also at L-13.")


def test_a_signal_leads_to_its_own_stream_and_not_to_its_neighbour(charted):
    high = [3.9e4, 4.1e4] * 6 + [9e4]
    survey = charted(
        {"values": high, "baseline": 12}, {"values": high, "baseline": 12, "basis": "dry"}
    )

    links = [one for one in Page(moved(survey.signals())).links if "/trends" in one]

    assert [parse_qs(urlsplit(one).query)["basis"] for one in links] == [["as-is"], ["dry"]]
    assert parse_qs(urlsplit(links[0]).query)["supplier"] == ["North Mill"]


def test_a_stream_without_a_basis_is_addressed_without_one(charted):
    survey = charted({"values": [3.9e4, 4.1e4] * 6 + [9e4], "baseline": 12, "basis": ""})

    assert "basis" not in moved(survey.signals())


# Intake


def test_held_rows_are_told_by_what_is_wrong_with_them():
    summary = pd.DataFrame({"code": ["unknown-lot"], "rows": [1], "where": ["in march.csv"]})

    page = Page(held(summary))

    assert page.text == "1 row: a lot that is not in the store, in march.csv"
