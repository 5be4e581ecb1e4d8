"""Marks of verdicts and decisions, told apart by their shape."""

import re
from typing import get_args

import pytest

from dashboard.frame.charts.verdict_mark import Decision, disposition_mark, verdict_mark
from spc.acceptance.evidence.lines import Outcome
from spc.intake.decisions import DECISIONS

OUTCOMES = get_args(Outcome)


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_verdict_is_named_and_takes_the_colour_of_its_words(outcome):
    mark = verdict_mark(outcome)

    assert f"<title>{outcome}</title>" in mark
    assert "#" not in mark


def test_verdicts_differ_by_fill_alone():
    drawings = {re.sub("<title>.*</title>", "", verdict_mark(outcome)) for outcome in OUTCOMES}

    assert len(drawings) == len(OUTCOMES)
    assert all('<circle r="5"' in drawing for drawing in drawings)


@pytest.mark.parametrize("outcome", OUTCOMES)
def test_a_decision_is_stamped_around_what_the_evidence_said(outcome):
    marks = [disposition_mark(decision, outcome=outcome) for decision in get_args(Decision)]

    drawings = {re.sub("<title>.*</title>", "", mark) for mark in marks}

    assert len(drawings) == len(DECISIONS)
    assert all(outcome in mark for mark in marks)


def test_every_decision_that_can_be_taken_has_a_stamp():
    assert set(get_args(Decision)) == set(DECISIONS)
