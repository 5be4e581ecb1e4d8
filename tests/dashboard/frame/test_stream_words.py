"""What a stream shows, in words: true, and no more than the numbers allow."""

from dataclasses import asdict

import pytest

from dashboard.frame import stream_words
from spc.digits import THIN
from spc.store import StreamKey
from tests.dashboard.streams import HEAT, zigzag


def told(survey, **choices):
    return stream_words.trend(survey.points, survey.signals(), **{"frozen": False, **choices})


# What a stream shows


def test_a_supplier_within_what_is_usual_is_said_to_be_so_with_what_that_rests_on(charted):
    survey = charted({"values": zigzag(12)})

    said = told(survey)

    assert said.startswith("The newest lot, L-12, is within what is usual. Usual for this supplier")
    assert f"is 35{THIN}" in said
    assert said.endswith("SHU, by a provisional baseline of 12 lots.")


def test_a_baseline_that_a_person_froze_is_no_longer_called_provisional(charted):
    said = told(charted({"values": zigzag(12)}), frozen=True)

    assert "by the frozen baseline of 12 lots" in said
    assert "provisional" not in said


def test_a_lot_far_out_is_called_unusual_by_the_rules_that_say_so(charted):
    survey = charted({"values": [*zigzag(12), 60_000.0], "baseline": 12})

    assert told(survey).startswith("The newest lot, L-13, is unusual: beyond limits.")


def test_the_lot_that_is_looked_at_is_told_of_and_not_the_newest(charted):
    survey = charted({"values": [*zigzag(12), 60_000.0], "baseline": 12})

    assert told(survey, chosen="L-03").startswith("Lot L-03 is within what is usual.")
    assert told(survey, chosen="L-13").startswith("Lot L-13 is unusual: beyond limits.")


def test_a_lot_that_was_not_judged_is_not_called_usual(charted):
    survey = charted({"values": [*zigzag(12), 40_000.0], "censored": [0] * 12 + [1]})

    said = told(survey)

    assert said.startswith("The newest lot, L-13, is not judged: its value is known as a bound")
    assert "within what is usual" not in said


def test_a_bound_beyond_the_limit_is_judged_all_the_same(charted):
    survey = charted({"values": [*zigzag(12), 60_000.0], "censored": [0] * 12 + [1]})

    assert told(survey).startswith("The newest lot, L-13, is unusual: beyond limits.")


@pytest.mark.parametrize(("values", "said"), [([4e4], "1 lot so far"), ([4e4] * 9, "9 lots so")])
def test_without_limits_nothing_is_called_usual(charted, values, said):
    text = told(charted({"values": values}))

    assert text.startswith(said)
    assert "too few, or too alike, to say what is usual" in text
    assert "within what is usual" not in text


def test_a_drift_of_the_demo_is_told_with_the_lot_where_it_began(demo_survey):
    key = StreamKey(**{**asdict(HEAT), "supplier": "North Fen Spices"})

    said = stream_words.trend(demo_survey.of(key), demo_survey.signals(), frozen=False)

    assert said.startswith("The newest lot, R26-0146, is unusual: ")
    assert "drift" in said
    assert "Most likely the level stepped" not in said


# When a supplier moved


def test_a_step_is_named_by_its_lot_and_both_levels(charted):
    survey = charted({"values": [*zigzag(10), *zigzag(10, 58_000.0, 62_000.0)]})

    said = stream_words.changed(survey.points)

    assert said == (f"Most likely the level stepped at L-11, from 40{THIN}000 to 60{THIN}000 SHU.")


def test_a_level_that_rises_lot_by_lot_is_not_told_as_a_step(charted):
    rising = [value + 1500.0 * lot for lot, value in enumerate(zigzag(20), 1)]

    said = stream_words.changed(charted({"values": [*zigzag(10), *rising]}).points)

    assert said.startswith("Most likely the level has drifted since L-09, from ")


def test_two_lots_apart_are_no_step(charted):
    values = zigzag(24)
    values[20], values[22] = 60_000.0, 62_000.0

    said = stream_words.changed(charted({"values": values}).points)

    assert said == "Most likely the level did not move: L-21 and L-23 lie apart."


def test_a_change_that_fits_two_ways_is_told_as_both(charted, steady):
    values = [*steady(10), *steady(10, level=47_000.0, seed=6)]

    said = stream_words.changed(charted({"values": values}).points)

    assert said == (
        "The lots look as if the level had moved, but they do not settle how: they fit a drift"
        " since L-01 or a step at L-10 about equally well."
    )


def test_a_step_in_much_noise_is_given_with_the_lots_between_which_it_was(charted, steady):
    values = [*steady(20), *steady(20, level=46_000.0, seed=6)]

    said = stream_words.changed(charted({"values": values}).points)

    assert "(90 % sure it was between L-" in said


@pytest.mark.parametrize(
    ("values", "censored"),
    [
        (zigzag(20), []),
        ([4e4] * 20, []),
        (zigzag(2), []),
        ([*zigzag(2), *[9e4] * 8], [0, 0, *[1] * 8]),
    ],
    ids=["steady", "all equal", "few lots", "few exact lots"],
)
def test_no_step_is_told_where_nothing_says_that_there_was_one(charted, values, censored):
    points = charted({"values": values, "censored": censored}).points

    assert stream_words.changed(points) == ""


def test_a_step_on_a_linear_scale_is_told_in_the_unit(charted):
    moisture = {"scale": "linear", "unit": "g/100 g", "characteristic": "moisture"}
    points = charted({"values": [*zigzag(10, 7.9, 8.1), *zigzag(10, 9.9, 10.1)], **moisture}).points

    assert stream_words.changed(points).endswith("from 8.00 to 10.0 g/100 g.")
