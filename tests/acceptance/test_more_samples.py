import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.acceptance import Risks, conformity, more_samples
from spc.acceptance.conformity import MOST_SAMPLES
from spc.errors import InvalidInput
from tests.reached import counts

RISKS = Risks(consumer=0.05, producer=0.05)


def settles(samples, value, within, method, **limits):
    spread = math.sqrt(within**2 / samples + method**2)
    return bool(RISKS.decided(conformity(value, spread, **limits)))


@st.composite
def near_a_limit(draw):
    """How far from a limit, with what spreads, so that some samples just about settle it."""
    within, method = draw(st.floats(0.05, 0.6)), draw(st.floats(0.0, 0.1))
    samples = draw(st.integers(2, 150))
    settled = 1.645 * math.hypot(within / math.sqrt(samples), method)
    return settled * draw(st.floats(0.98, 1.2)) * draw(st.sampled_from([-1.0, 1.0])), within, method


@pytest.mark.reaches(0.5)
@settings(deadline=None)
@given(near_a_limit())
def test_the_stated_number_settles_the_line_and_one_fewer_does_not(drawn):
    value, within, method = drawn
    found = more_samples(value, within=within, method=method, risks=RISKS, upper=0.0)

    counts(found.samples is not None and found.samples > 1)
    if found.samples is None:
        assert not settles(MOST_SAMPLES, value, within, method, upper=0.0)
    else:
        assert settles(found.samples, value, within, method, upper=0.0)
        assert found.samples == 1 or not settles(
            found.samples - 1, value, within, method, upper=0.0
        )


@pytest.mark.reaches(0.5)
@settings(deadline=None)
@given(near_a_limit(), st.sampled_from([-1.0, 1.0]))
def test_between_two_limits_every_larger_number_settles_it_too(drawn, side):
    away, within, method = drawn
    value = side * (1.0 + away)
    limits = {"lower": -1.0, "upper": 1.0}

    found = more_samples(value, within=within, method=method, risks=RISKS, **limits)

    first = found.samples or 0
    if counts(first > 1):
        assert all(settles(n, value, within, method, **limits) for n in range(first, first + 20))


def test_a_mean_one_sigma_inside_needs_three_samples():
    """Consumer risk 5 %: the root of n must reach 1.645, so three, since 1.645 squared is 2.7."""
    found = more_samples(-0.1, within=0.1, method=0.0, risks=RISKS, upper=0.0)

    assert found.samples == 3
    assert found.best_probability == 1.0


def test_a_mean_outside_is_settled_as_well():
    found = more_samples(0.1, within=0.1, method=0.0, risks=RISKS, upper=0.0)

    assert found.samples == 3
    assert found.best_probability == 0.0


def test_no_number_settles_what_the_method_itself_cannot_tell():
    found = more_samples(-0.05, within=0.1, method=0.05, risks=RISKS, upper=0.0)

    assert found.samples is None
    assert found.best_probability == pytest.approx(0.841, abs=5e-4)


def test_a_mean_very_close_to_the_limit_would_take_too_many():
    found = more_samples(-0.001, within=0.1, method=0.0, risks=RISKS, upper=0.0)

    assert found.samples is None
    assert RISKS.decided(found.best_probability)


def test_an_even_lot_is_settled_by_one_sample():
    assert more_samples(-0.1, within=0.0, method=0.01, risks=RISKS, upper=0.0).samples == 1


def test_a_chance_is_decided_at_either_risk_and_a_missing_one_never():
    risks = Risks(consumer=0.05, producer=0.10)

    decided = risks.decided([0.0, 0.10, 0.11, 0.94, 0.95, 1.0, math.nan])

    assert decided.tolist() == [True, True, False, False, True, True, False]


@pytest.mark.parametrize(
    ("within", "method", "limits"),
    [(math.nan, 0.1, {"upper": 0.0}), (0.1, math.nan, {"upper": 0.0}), (0.1, 0.1, {})],
)
def test_an_unknown_spread_or_no_limit_is_refused(within, method, limits):
    with pytest.raises(InvalidInput):
        more_samples(-0.1, within=within, method=method, risks=RISKS, **limits)
