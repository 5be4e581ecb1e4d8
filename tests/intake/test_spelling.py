import difflib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.intake.checks import spelling
from spc.intake.checks.spelling import did_you_mean, nearest

NAMES = st.text("ab-1µ", min_size=1, max_size=7)


@settings(max_examples=200, deadline=None)
@given(NAMES, st.lists(NAMES, max_size=12, unique=True))
def test_the_nearest_names_are_those_of_a_comparison_with_every_name(name, known):
    assert nearest(name, known) == difflib.get_close_matches(name, known, n=3, cutoff=0.75)


def test_the_nearest_of_many_lots_are_those_of_a_comparison_with_every_lot():
    known = [f"R24-{number:04d}" for number in range(2000)]

    for name in ("R24-O417", "24-0417", "R24-99999", "Q1"):
        assert nearest(name, known) == difflib.get_close_matches(name, known, n=3, cutoff=0.75)


@pytest.mark.parametrize("name", ["", "quite another name than any that is known"])
def test_a_name_without_a_near_one_gets_the_other_advice(name):
    assert did_you_mean(["L-1"], otherwise="Announce it.")(name) == "Announce it."


def test_a_file_of_unknown_names_is_not_searched_for_slips_without_end(monkeypatch):
    searched = []

    def found(name, _known):
        searched.append(name)
        return []

    monkeypatch.setattr(spelling, "nearest", found)
    advice = did_you_mean(["L-1"], otherwise="Announce it.")

    told = {advice(f"X-{number}") for number in range(1000)}

    assert told == {"Announce it."}
    assert len(searched) == 50


@pytest.mark.parametrize(
    "changed",
    [
        *(
            "42",
            "42.0",
            "00042",
            "4.2E+01",
            "\N{FULLWIDTH DIGIT ZERO}042",
            "0042\N{ZERO WIDTH SPACE}",
        ),
        *("\N{FULLWIDTH DIGIT FOUR}\N{FULLWIDTH DIGIT TWO}", "#42", "0042 "),
    ],
)
def test_a_lot_number_that_a_spreadsheet_changed_is_recognised_but_not_changed_back(changed):
    advice = did_you_mean(["100000", "0042", "K-7"], otherwise="Announce it.")

    assert advice(changed).startswith("Did you mean 0042")


def test_a_lot_number_in_scientific_notation_is_recognised():
    advice = did_you_mean(["100000", "100001"], otherwise="Announce it.")

    assert advice("1E+05").startswith("Did you mean 100000?")


@settings(max_examples=200, deadline=None)
@given(st.text(max_size=12), st.lists(st.text(max_size=12), max_size=5))
def test_advice_can_be_given_about_any_name(name, known):
    assert did_you_mean(known, otherwise="Announce it.")(name).endswith("Announce it.")
