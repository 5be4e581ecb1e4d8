"""Blocks of a page: whatever people wrote stays text, and every link finds its lot."""

from dataclasses import replace
from urllib.parse import parse_qs, urlsplit

import pandas as pd
import pytest

from dashboard.frame import markup
from dashboard.frame.lot_addresses import lot_address
from tests.dashboard.page import EVIL, Page


def waiting(*lots, decision=""):
    return pd.DataFrame(
        {
            "lot": list(lots),
            "material": EVIL,
            "supplier": EVIL,
            "received_at": pd.Timestamp("2026-11-03 08:00"),
            "decision": decision,
        }
    )


@pytest.fixture
def blocks(judged):
    """Every block that shows what people wrote, with a script as the text."""
    verdict = judged("hold", "undecided", text=EVIL, safety=True, flags=[EVIL])
    return {
        "queue": markup.queue(waiting(EVIL), {EVIL: verdict}, pd.Timestamp("2026-11-20").date()),
        "sentence": markup.sentence(verdict),
        "original": markup.original({EVIL: EVIL}),
        "mark": markup.mark("<svg></svg>", EVIL),
    }


@pytest.mark.parametrize("block", ["queue", "sentence", "original", "mark"])
def test_what_people_write_is_shown_as_they_wrote_it_and_never_run(blocks, block):
    page = Page(blocks[block])

    assert "script" not in page.tags
    assert EVIL in page.text or EVIL in page.labels


# Marks


@pytest.mark.parametrize(
    ("recommendation", "outcomes", "label"),
    [
        ("accept", ["conforming"], "conforming"),
        ("reject", ["conforming", "not conforming"], "not conforming"),
        ("hold", ["undecided"], "undecided"),
        ("hold", ["undecided", "no result"], "no result"),
        ("reject", ["not conforming", "no result"], "not conforming"),
    ],
)
def test_a_recommendation_wears_the_mark_of_what_it_follows_from(
    judged, recommendation, outcomes, label
):
    page = Page(markup.recommendation_mark(judged(recommendation, *outcomes)))

    assert page.labels == [label]


def test_a_mark_is_a_shape_and_no_svg_in_the_page():
    block = markup.outcome_mark("undecided")

    assert Page(block).tags == {"span"}
    assert "currentColor" not in block


# The queue


def test_waiting_lots_say_how_long_and_what_was_decided_so_far(judged):
    today = pd.Timestamp("2026-11-04").date()
    verdicts = {"L-1": judged("hold", "undecided")}

    fresh = Page(markup.queue(waiting("L-1"), verdicts, today))
    on_hold = Page(markup.queue(waiting("L-1", decision="on hold"), verdicts, today))

    assert "1 day" in fresh.text
    assert "on hold" not in fresh.text
    assert "1 day, on hold" in on_hold.text


def test_what_stands_beside_a_verdict_is_named_once_unless_the_sentence_says_it(judged):
    flagged = judged("hold", "undecided", flags=["possible slip", "possible slip"])
    apart = replace(flagged, sentence="Hold: something else.")
    today = pd.Timestamp("2026-11-04").date()

    said = Page(markup.queue(waiting("L-1"), {"L-1": apart}, today)).text
    silent = Page(markup.queue(waiting("L-1"), {"L-1": flagged}, today)).text

    assert said.count("possible slip") == 1
    assert "Also" not in silent


@pytest.mark.parametrize("lot", ["R26-0140", "A&B 1", "7/2?x=1#y", "Söhne №3", '"<i>"'])
def test_an_address_finds_the_lot_whatever_its_number(lot):
    parts = urlsplit(lot_address(lot))

    assert parts.path == "/lot"
    assert parse_qs(parts.query) == {"lot": [lot]}
    assert parts.fragment == ""


def test_a_row_of_a_file_is_shown_without_its_empty_cells():
    page = Page(markup.original({"Lot": "L-1", "Remark": ""}))

    assert "Lot" in page.text
    assert "Remark" not in page.text


def test_texts_of_a_file_cannot_become_markup():
    assert "<script>" not in markup.original({"Lot": "<script>alert(1)</script>"})
