"""Limits, risks and plans are typed with a decimal point or comma, and echoed as understood."""

import pytest

from dashboard.specifications import typed
from spc.acceptance import Specification
from spc.acceptance.specification import Line
from spc.answers import specifications
from spc.errors import InvalidInput


@pytest.fixture
def shown():
    line = Line(characteristic="moisture", unit="g/100 g", scale="linear", upper=11.0)
    whole = Specification(
        material="cayenne powder",
        version=1,
        effective_from="2026-01-01",
        reason="first issue",
        lines=(line,),
    )
    return typed.as_typed(specifications.lines_table(whole))


def test_what_nobody_changed_comes_back_as_it_stands(shown):
    assert shown.loc[0, "upper"] == "11"
    assert shown.loc[0, "lower"] == ""

    read = typed.as_read(shown)

    assert read.loc[0, "upper"] == 11.0
    assert read.loc[0, "lower"] is None
    assert typed.read_otherwise(shown, read) == ""


def test_a_decimal_comma_is_understood_and_told(shown):
    shown.loc[0, "upper"] = "10,5"
    shown.loc[0, "consumer_risk"] = "0,01"

    read = typed.as_read(shown)

    assert (read.loc[0, "upper"], read.loc[0, "consumer_risk"]) == (10.5, 0.01)
    assert typed.read_otherwise(shown, read) == (
        "Read as upper limit of moisture: 10.5; consumer risk of moisture: 0.01."
    )


@pytest.mark.parametrize(
    ("column", "text", "words"),
    [
        ("upper", "11,000", "can be read in two ways"),
        ("upper", "eleven", "is no number"),
        ("consumer_risk", "5", "is not from 0.0001 to 0.5"),
        ("plan_n", "5,5", "is no whole number"),
    ],
)
def test_what_cannot_be_read_is_refused_with_its_line(shown, column, text, words):
    shown.loc[0, column] = text

    with pytest.raises(InvalidInput, match=f"of moisture: '{text}' {words}"):
        typed.as_read(shown)
