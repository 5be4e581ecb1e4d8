import math

import pytest

from spc import charts
from spc.charts.rules import price as priced
from spc.errors import InvalidInput

FOUR = ("beyond limits", "two of three far out", "four of five out", "eight on one side")


def test_limits_alone_cost_a_false_alarm_in_five_years_at_six_lots_a_month():
    price = charts.price(("beyond limits",), lots_per_month=6.0)

    assert price.exact
    assert price.false_alarm_lots == pytest.approx(370.398, abs=5e-4)
    assert price.false_alarm_months == pytest.approx(61.733, abs=5e-4)
    assert price.detection_lots == pytest.approx(43.895, abs=5e-4)
    assert price.detection_months == pytest.approx(7.316, abs=5e-4)
    assert price.false_alarm_standard_error == price.detection_standard_error == 0.0


def test_the_price_is_the_pair_of_run_lengths():
    price = charts.price(FOUR, lots_per_month=2.5, shift=1.4, width=3.2)

    assert price.false_alarm_lots == charts.run_length(FOUR, width=3.2)
    assert price.detection_lots == charts.run_length(FOUR, 1.4, width=3.2)
    assert price.false_alarm_months == price.false_alarm_lots / 2.5


def test_the_default_rules_cost_a_false_alarm_in_about_fifteen_months():
    """Nine on one side and six rising: one in 89 lots, as beside `DEFAULT_RULES`."""
    price = charts.price(charts.DEFAULT_RULES, lots_per_month=6.0)

    assert price.exact
    assert price.false_alarm_standard_error == price.detection_standard_error == 0.0
    assert price.false_alarm_lots == pytest.approx(88.99, abs=5e-3)
    assert price.false_alarm_months == pytest.approx(14.83, abs=5e-3)
    assert price.detection_lots == pytest.approx(9.643, abs=5e-4)


def test_one_rule_more_makes_the_price_less_than_without_it():
    held = tuple(name for name in charts.DEFAULT_RULES if name != "six rising or falling")

    with_it = charts.price(charts.DEFAULT_RULES, lots_per_month=6.0)

    without = charts.price(held, lots_per_month=6.0)
    assert without.exact
    assert with_it.false_alarm_lots < without.false_alarm_lots
    assert with_it.detection_lots < without.detection_lots


def test_rules_with_too_many_states_are_tried_out_and_the_price_says_how_well(monkeypatch):
    monkeypatch.setattr(priced, "solvable", lambda *_: False)
    priced._average.cache_clear()

    tried = charts.price(charts.DEFAULT_RULES, lots_per_month=6.0)

    priced._average.cache_clear()
    assert not tried.exact
    assert 0.0 < tried.false_alarm_standard_error < 0.01 * tried.false_alarm_lots
    assert tried.false_alarm_lots == pytest.approx(
        88.99, abs=4.0 * tried.false_alarm_standard_error
    )


def test_the_price_is_the_same_each_time():
    rules = ("beyond limits", "fourteen alternating")

    assert charts.price(rules, lots_per_month=4.0) == charts.price(rules, lots_per_month=4.0)


def test_the_price_says_what_it_was_asked_for():
    price = charts.price((*FOUR[::-1], *FOUR), lots_per_month=4.0, shift=2.0, width=3.1)

    assert price.rules == FOUR
    assert (price.lots_per_month, price.shift, price.width) == (4.0, 2.0, 3.1)


@pytest.mark.parametrize(
    ("options", "fault"),
    [
        ({"rules": ()}, "without rules"),
        ({"rules": ("xyz",)}, "no run rule"),
        ({"lots_per_month": 0.0}, "lots per month"),
        ({"lots_per_month": math.nan}, "lots per month"),
        ({"lots_per_month": math.inf}, "lots per month"),
        ({"shift": 0.0}, "shift"),
        ({"shift": math.inf}, "shift"),
        ({"width": 0.0}, "width"),
    ],
)
def test_what_cannot_be_priced_is_refused(options, fault):
    settings = {"rules": FOUR, "lots_per_month": 6.0} | options

    with pytest.raises(InvalidInput, match=rf"^price: .*{fault}"):
        charts.price(settings.pop("rules"), **settings)
