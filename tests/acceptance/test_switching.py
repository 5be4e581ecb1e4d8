"""Normal, tightened and reduced inspection; and when lots may be skipped."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.acceptance import Line, inspection_level, may_skip
from spc.errors import InvalidInput

CODES = {"a": "accepted", "r": "rejected", "m": "marginal"}
HEAT = Line(characteristic="heat", unit="SHU", scale="log", lower=38_000.0)
AFLATOXIN = Line(characteristic="aflatoxin B1", unit="µg/kg", scale="log", upper=5.0, safety=True)


def lots(codes):
    return [CODES[code] for code in codes]


@pytest.mark.parametrize(
    ("codes", "level", "since"),
    [
        ("", "normal", 0),
        ("aaar", "normal", 0),
        ("rr", "tightened", 2),
        ("raaar", "tightened", 5),
        ("raaaar", "normal", 0),
        ("rraaaa", "tightened", 2),
        ("rraaaaa", "normal", 7),
        ("rraaaaraaaaa", "normal", 12),
        ("rraaaaar", "normal", 7),
        ("rrrarararar", "stopped", 11),
        ("rrrarararar" + "a" * 20, "stopped", 11),
        ("a" * 30, "normal", 0),
    ],
)
def test_the_level_follows_the_published_rules(codes, level, since):
    state = inspection_level(lots(codes))

    assert (state.level, state.since, state.lots) == (level, since, len(codes))


@pytest.mark.parametrize(
    ("codes", "level"),
    [
        ("a" * 9, "normal"),
        ("a" * 10, "reduced"),
        ("r" + "a" * 10, "reduced"),
        ("a" * 30, "reduced"),
        ("a" * 10 + "m", "normal"),
        ("a" * 10 + "r", "normal"),
        ("a" * 10 + "r" + "a" * 9, "normal"),
        ("a" * 10 + "r" + "a" * 10, "reduced"),
        ("rr" + "a" * 5 + "a" * 10, "reduced"),
    ],
)
def test_inspection_is_reduced_only_after_ten_lots_and_by_agreement(codes, level):
    assert inspection_level(lots(codes), reduced_allowed=True).level == level
    assert inspection_level(lots(codes)).level == "normal"


def test_the_reason_names_the_lots():
    assert inspection_level([]).reason == "Inspection starts normal."
    assert inspection_level(lots("rar")).reason == "2 of the last 3 lots were rejected."
    assert "5 lots were accepted" in inspection_level(lots("rraaaaa")).reason
    assert "rejected under tightened" in inspection_level(lots("rrrrrrr")).reason
    reduced = inspection_level(lots("a" * 10 + "m"), reduced_allowed=True)
    assert reduced.reason == "A lot was marginal under reduced inspection."


@given(st.text("arm", max_size=60))
def test_one_more_accepted_lot_never_tightens(codes):
    strictness = {"reduced": 0, "normal": 1, "tightened": 2, "stopped": 3}

    before = inspection_level(lots(codes), reduced_allowed=True).level
    after = inspection_level(lots(codes + "a"), reduced_allowed=True).level

    assert strictness[after] <= strictness[before]


@given(st.text("arm", max_size=60))
def test_no_lot_may_be_skipped_where_a_line_is_marked_safety(codes):
    advice = may_skip([HEAT, AFLATOXIN], lots(codes))

    assert not advice.allowed
    assert advice.one_in == 1
    assert "aflatoxin B1 is marked safety" in advice.reason


def test_lots_may_be_skipped_after_ten_accepted_in_a_row():
    allowed = may_skip([HEAT], lots("ra" + "a" * 9), one_in=3)
    too_early = may_skip([HEAT], lots("a" * 9))
    after_a_failure = may_skip([HEAT], lots("a" * 12 + "r"))

    assert allowed.allowed
    assert allowed.one_in == 3
    assert not too_early.allowed
    assert not after_a_failure.allowed
    assert "last 9 lots" in too_early.reason


def test_no_lot_is_skipped_under_tightened_inspection():
    assert not may_skip([HEAT], lots("rr" + "a" * 4)).allowed
    assert "tightened" in may_skip([HEAT], lots("rr" + "a" * 4)).reason


class TestRefusals:
    def test_a_word_that_is_no_outcome(self):
        with pytest.raises(InvalidInput, match="lot 1 went 'fine'"):
            inspection_level(["accepted", "fine"])  # type: ignore[list-item]

    @pytest.mark.parametrize("one_in", [0, 1, 6])
    def test_a_frequency_that_is_none(self, one_in):
        with pytest.raises(InvalidInput, match="no frequency of skip-lot"):
            may_skip([HEAT], [], one_in=one_in)
