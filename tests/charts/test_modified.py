import math
from dataclasses import dataclass

import numpy as np
import pytest
from scipy import integrate, optimize

from spc import charts
from spc.errors import InvalidInput


@dataclass(frozen=True)
class Known:
    """A spread within lots that is known from elsewhere."""

    within_sigma: float
    size: int = 12


def normal_tail(x):
    """Upper tail of the normal distribution, by adding it up."""
    return integrate.quad(
        lambda u: math.exp(-u * u / 2.0) / math.sqrt(2.0 * math.pi), x, 12.0, epsabs=1e-15
    )[0]


def normal_quantile(tail):
    return optimize.brentq(lambda x: normal_tail(x) - tail, 0.0, 8.0, xtol=1e-13)


@pytest.mark.parametrize(("samples", "share", "risk"), [(1, 0.01, 0.00135), (5, 0.001, 0.05)])
def test_limits_lie_where_an_independent_quantile_puts_them(samples, share, risk):
    limits = charts.modified_limits(
        Known(0.4), samples=samples, lower=6.0, upper=12.0, share=share, risk=risk
    )

    inside = 0.4 * normal_quantile(share)
    outside = 0.4 / math.sqrt(samples) * normal_quantile(risk)
    assert limits.acceptable_upper == pytest.approx(12.0 - inside, rel=1e-9)
    assert limits.acceptable_lower == pytest.approx(6.0 + inside, rel=1e-9)
    assert limits.upper == pytest.approx(12.0 - inside + outside, rel=1e-9)
    assert limits.lower == pytest.approx(6.0 + inside - outside, rel=1e-9)
    assert limits.sigma_mean == pytest.approx(0.4 / math.sqrt(samples))
    assert (limits.sigma, limits.share, limits.risk, limits.size) == (0.4, share, risk, 12)


def test_a_lot_that_is_just_acceptable_is_stopped_as_often_as_the_risk_says():
    limits = charts.modified_limits(Known(0.4), samples=4, upper=12.0, share=0.02, risk=0.05)

    beyond = normal_tail((12.0 - limits.acceptable_upper) / 0.4)
    assert beyond == pytest.approx(0.02, rel=1e-9)
    assert limits.pass_probability(limits.acceptable_upper) == pytest.approx(0.95, rel=1e-12)


def test_simulated_lots_pass_as_often_as_stated():
    """Within four standard errors of a frequency among 40 000 lots."""
    limits = charts.modified_limits(Known(0.4), samples=3, lower=8.0, upper=12.0, risk=0.05)
    level = 0.7 * limits.acceptable_upper + 0.3 * 12.0
    means = np.random.default_rng(3).normal(level, 0.4, size=(40_000, 3)).mean(axis=1)

    passed = np.mean((means >= limits.lower) & (means <= limits.upper))

    chance = limits.pass_probability(level)
    assert passed == pytest.approx(chance, abs=4.0 * math.sqrt(chance * (1 - chance) / 40_000))


def test_a_specification_open_on_one_side_has_one_limit():
    limits = charts.modified_limits(Known(0.4), samples=3, lower=8.0)

    assert (limits.upper, limits.acceptable_upper) == (math.inf, math.inf)
    assert limits.pass_probability(20.0) == pytest.approx(1.0)


def test_limits_are_wider_than_the_lots_need_where_the_specification_is_wide():
    """The point of the chart: the mean may wander between the acceptable levels."""
    limits = charts.modified_limits(Known(0.1), samples=4, lower=5.0, upper=15.0)

    assert limits.upper - limits.lower > 20 * 3 * 0.1 / 2


def test_a_spread_that_no_mean_can_make_good_is_refused():
    with pytest.raises(InvalidInput, match="no mean between 8 and 9"):
        charts.modified_limits(Known(0.4), samples=3, lower=8.0, upper=9.0)


@pytest.mark.parametrize(
    ("within", "setting"),
    [
        (Known(0.0), {}),
        (Known(-1.0), {}),
        (Known(math.nan), {}),
        (Known(math.inf), {}),
        (Known(1.0), {"samples": 0}),
        (Known(1.0), {"share": 0.0}),
        (Known(1.0), {"share": 0.5}),
        (Known(1.0), {"risk": math.nan}),
        (Known(1.0), {"risk": 1.0}),
        (Known(1.0), {"upper": None}),
        (Known(1.0), {"upper": math.inf}),
        (Known(1.0), {"lower": math.nan}),
    ],
)
def test_a_setting_out_of_range_is_refused(within, setting):
    with pytest.raises(InvalidInput, match="modified_limits"):
        charts.modified_limits(within, **{"samples": 3, "upper": 9.0, **setting})
