"""Blocks of a lot's dossier: whatever people wrote stays text."""

from dataclasses import replace
from datetime import datetime

import pytest

from dashboard.lots.blocks import decisions, facts, flags, line
from spc.answers.signed_versions import SignedVersion
from tests.dashboard.page import EVIL, Page


@pytest.fixture
def blocks(demo_store, judged):
    """Every block that shows what people wrote, with a script as the text."""
    verdict = judged("hold", "undecided", text=EVIL, safety=True, flags=[EVIL])
    decided = demo_store.dispositions().tail(1)
    return {
        "line": line(verdict.lines[0]),
        "flags": flags(verdict),
        "facts": facts(replace(demo_store.lot("R26-0140"), supplier=EVIL, lot=EVIL)),
        "decisions": decisions(
            decided.assign(decided_by=EVIL, role=EVIL, reason=EVIL, second_person=EVIL), {}, ()
        ),
    }


@pytest.mark.parametrize("block", ["line", "flags", "facts", "decisions"])
def test_what_people_write_is_shown_as_they_wrote_it_and_never_run(blocks, block):
    page = Page(blocks[block])

    assert "script" not in page.tags
    assert EVIL in page.text or EVIL in page.labels


def test_a_safety_line_is_marked_as_one(judged):
    page = Page(line(judged("reject", "not conforming", safety=True).lines[0]))

    assert "safety" in page.text
    assert page.labels == ["not conforming"]


def test_what_was_not_stated_of_a_delivery_is_not_shown(small_store):
    lot = small_store.lot("L-1")

    full = Page(facts(lot)).text
    sparse = Page(facts(replace(lot, packages=None, harvest_year=None))).text

    assert "40 × 25 kg" in full
    assert "crop" in full
    assert "price" not in full
    assert "quantity" not in sparse
    assert "crop" not in sparse


def test_a_flag_that_holds_the_lot_says_so(judged):
    verdict = judged("hold", "conforming", flags=["possible slip"])
    light = replace(verdict, flags=(replace(verdict.flags[0], holds=False),))

    assert "possible slip (holds the lot): heat" in Page(flags(verdict)).text
    assert "holds the lot" not in Page(flags(light)).text


def test_a_decision_says_how_it_came_into_the_record_unless_it_was_signed_here(demo_store):
    decided = demo_store.dispositions().tail(1)

    received = Page(decisions(decided, {}, ()))
    typed = Page(decisions(decided.assign(how="typed, not signed in"), {}, ()))
    signed = Page(decisions(decided.assign(how="signed"), {}, ()))

    assert "From before the record, as received." in received.text
    assert "Typed, not signed in." in typed.text
    assert "as received" not in signed.text
    assert received.labels == decided["decision"].tolist()


def test_a_decision_that_was_found_wrong_stays_struck_through(demo_store):
    decided = demo_store.dispositions().tail(1)

    wrong = Page(decisions(decided.assign(superseded_by="another"), {}, ()))
    right = Page(decisions(decided.assign(corrects="another"), {}, ()))

    assert "s" in wrong.tags
    assert "counts no longer" in wrong.text
    assert "s" not in right.tags
    assert "in the place of a decision that was found wrong" in right.text


def test_a_decision_says_under_which_version_it_was_signed_and_when_that_was_approved(demo_store):
    decided = demo_store.dispositions().tail(1)
    approval = replace(
        demo_store.approvals.of_specification("cayenne powder", 1),
        how="signed",
        approved_by="Odo Hale and Mara Quill",
        approved_at=datetime(2026, 11, 30, 20, 41),  # noqa: DTZ001 - the store keeps UTC
    )
    under = SignedVersion(material="cayenne powder", version=1, approval=approval)

    told = Page(decisions(decided, {decided["disposition"].iloc[0]: under}, ())).text

    assert (
        "Signed under version 1 of the specification, approved by Odo Hale and Mara Quill on"
        " 30 November 2026." in told
    )


def test_the_second_person_of_a_decision_is_named(demo_store):
    decided = demo_store.dispositions().tail(1)

    told = Page(decisions(decided.assign(second_person="Nils Orr"), {}, ())).text

    assert ", with Nils Orr on" in told
