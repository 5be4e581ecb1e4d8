"""Blocks of a page: whatever people wrote stays text, and every link finds its lot."""

from dataclasses import replace
from html.parser import HTMLParser
from urllib.parse import parse_qs, urlsplit

import pandas as pd
import pytest

from dashboard.frame import markup
from dashboard.frame.lot_addresses import lot_address
from dashboard.lots import blocks as lots_blocks
from dashboard.today import blocks as today_blocks
from dashboard.today.tables import held_kinds
from dashboard.trends import blocks as trends_blocks
from spc.store import StreamKey

EVIL = """<script>alert("1")</script> & 'Söhne'"""
DRY = StreamKey(
    material="cayenne powder",
    supplier="North Mill",
    characteristic="heat",
    method="rapid sensor",
    basis="dry",
)


class Page(HTMLParser):
    """The tags, links, labels and text of a block."""

    def __init__(self, block):
        super().__init__(convert_charrefs=True)
        self.tags, self.links, self.labels, self.text = set(), [], [], ""
        self.feed(block)

    def handle_starttag(self, tag, attrs):
        self.tags.add(tag)
        named = dict(attrs)
        if "href" in named:
            self.links.append(named["href"])
        if "aria-label" in named:
            self.labels.append(named["aria-label"])
        assert not any(name.startswith("on") for name in named)

    def handle_data(self, data):
        self.text += data


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
def blocks(demo_store, small_store, judged, charted):
    """Every block that shows what people wrote, with a script as the text."""
    verdict = judged("hold", "undecided", text=EVIL, safety=True, flags=[EVIL])
    moved = charted(
        {"values": [3.9e4, 4.1e4] * 6 + [9e4], "baseline": 12, "lot": EVIL, "supplier": EVIL}
    )
    name = small_store.investigate(DRY, EVIL, signals=[EVIL], cause=EVIL, action=EVIL, by=EVIL)
    small_store.close_investigation(name, conclusion=EVIL, by=EVIL)
    decided = demo_store.dispositions().tail(1)
    held = demo_store.held().head(1)
    return {
        "queue": markup.queue(waiting(EVIL), {EVIL: verdict}, pd.Timestamp("2026-11-20").date()),
        "sentence": markup.sentence(verdict),
        "line": lots_blocks.line(verdict.lines[0]),
        "flags": lots_blocks.flags(verdict),
        "facts": lots_blocks.facts(replace(demo_store.lot("R26-0140"), supplier=EVIL, lot=EVIL)),
        "original": markup.original({EVIL: EVIL}),
        "decisions": lots_blocks.decisions(
            decided.assign(decided_by=EVIL, role=EVIL, reason=EVIL, second_person=EVIL)
        ),
        "moved": today_blocks.moved(moved.signals().assign(material=EVIL)),
        "held": today_blocks.held(held_kinds(held.assign(name=EVIL, code=EVIL))),
        "investigations": trends_blocks.investigations(small_store.investigations(DRY)),
        "mark": markup.mark("<svg></svg>", EVIL),
    }


@pytest.mark.parametrize(
    "block",
    [
        *("queue", "sentence", "line", "flags", "facts", "original", "decisions", "moved"),
        *("held", "investigations", "mark"),
    ],
)
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


# A lot


def test_a_safety_line_is_marked_as_one(judged):
    page = Page(lots_blocks.line(judged("reject", "not conforming", safety=True).lines[0]))

    assert "safety" in page.text
    assert page.labels == ["not conforming"]


def test_what_was_not_stated_of_a_delivery_is_not_shown(small_store):
    lot = small_store.lot("L-1")

    full = Page(lots_blocks.facts(lot)).text
    sparse = Page(lots_blocks.facts(replace(lot, packages=None, harvest_year=None))).text

    assert "40 × 25 kg" in full
    assert "crop" in full
    assert "price" not in full
    assert "quantity" not in sparse
    assert "crop" not in sparse


def test_a_row_of_a_file_is_shown_without_its_empty_cells():
    page = Page(markup.original({"Lot": "L-1", "Remark": ""}))

    assert "Lot" in page.text
    assert "Remark" not in page.text


def test_a_flag_that_holds_the_lot_says_so(judged):
    verdict = judged("hold", "conforming", flags=["possible slip"])
    light = replace(verdict, flags=(replace(verdict.flags[0], holds=False),))

    assert "possible slip (holds the lot): heat" in Page(lots_blocks.flags(verdict)).text
    assert "holds the lot" not in Page(lots_blocks.flags(light)).text


def test_a_decision_from_before_the_record_says_so(demo_store):
    decided = demo_store.dispositions().tail(1).assign(second_person="")

    before = Page(lots_blocks.decisions(decided.assign(evidence="")))
    since = Page(lots_blocks.decisions(decided.assign(evidence="{}")))

    assert "(before this record was kept)" in before.text
    assert "before this record" not in since.text
    assert before.labels == decided["decision"].tolist()


def test_the_second_person_of_a_decision_is_named(demo_store):
    decided = demo_store.dispositions().tail(1)

    assert (
        ", with Nils Orr:"
        in Page(lots_blocks.decisions(decided.assign(second_person="Nils Orr", scope=""))).text
    )


# Signals


def test_signals_of_one_stream_stand_on_one_line_with_its_newest_lot_first(charted):
    high = [3.9e4, 4.1e4] * 6 + [9e4, 9e4]
    survey = charted(
        {"values": high, "baseline": 12}, {"values": high, "baseline": 12, "basis": "dry"}
    )

    block = today_blocks.moved(survey.signals())

    assert block.count("<li>") == 2
    first = Page(block.split("</li>")[0])
    assert "at L-14: beyond limits" in first.text
    assert first.text.endswith("; also at L-13.")


def test_a_signal_leads_to_its_own_stream_and_not_to_its_neighbour(charted):
    high = [3.9e4, 4.1e4] * 6 + [9e4]
    survey = charted(
        {"values": high, "baseline": 12}, {"values": high, "baseline": 12, "basis": "dry"}
    )

    links = [one for one in Page(today_blocks.moved(survey.signals())).links if "/trends" in one]

    assert [parse_qs(urlsplit(one).query)["basis"] for one in links] == [["as-is"], ["dry"]]
    assert parse_qs(urlsplit(links[0]).query)["supplier"] == ["North Mill"]


def test_a_stream_without_a_basis_is_addressed_without_one(charted):
    survey = charted({"values": [3.9e4, 4.1e4] * 6 + [9e4], "baseline": 12, "basis": ""})

    assert "basis" not in today_blocks.moved(survey.signals())


# Investigations


def test_an_investigation_is_open_until_somebody_closes_it(small_store):
    name = small_store.investigate(
        DRY,
        "L-1",
        signals=["beyond limits", "two of three far out"],
        cause="new mill screen",
        action="asked the supplier",
        by="Mara Quill",
    )
    opened = trends_blocks.investigations(small_store.investigations(DRY))
    small_store.close_investigation(name, conclusion="screen replaced", by="Nils Orr")

    closed = trends_blocks.investigations(small_store.investigations(DRY))

    assert "new mill screen; asked the supplier. Opened by Mara Quill on " in Page(opened).text
    assert "(beyond limits, two of three far out)" in Page(opened).text
    assert Page(opened).text.endswith(", open.")
    assert "closed by Nils Orr on " in Page(closed).text
    assert Page(closed).text.endswith(": screen replaced.")
    assert Page(closed).links == ["/lot?lot=L-1"]


# Intake


def test_held_rows_are_told_by_what_is_wrong_with_them():
    summary = pd.DataFrame({"code": ["unknown-lot"], "rows": [1], "where": ["in march.csv"]})

    page = Page(today_blocks.held(summary))

    assert page.text == "1 row: a lot that is not in the store, in march.csv"
