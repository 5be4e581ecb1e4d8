import numpy as np
import pytest
from scipy import stats

from spc.compare.between_methods.linearity import linearity
from spc.compare.between_methods.method_comparison import methods


def test_the_sum_is_the_two_sample_statistic_of_the_lots_above_and_below():
    generator = np.random.default_rng(2)
    x = generator.uniform(0.0, 10.0, 60)
    y = x + generator.normal(0.0, 1.0, 60)

    found = linearity(x, y, slope=1.0, intercept=0.0)

    along = x + y
    both = stats.ks_2samp(along[y > x], along[y < x])
    assert found.statistic == pytest.approx(both.statistic * np.sqrt(found.above * found.below))
    assert found.above == np.sum(y > x)
    assert found.above + found.below == 60


@pytest.mark.parametrize(("bound", "risk"), [(1.22, 0.10), (1.36, 0.05), (1.63, 0.01)])
def test_the_bounds_of_kolmogorov_and_smirnov_are_exceeded_as_often_as_printed(bound, risk):
    """By 136 of 10 000 lots first above, then below a line that they cross once more."""
    run = round(bound * 100) - 1
    rest = np.tile([1.0, -1.0], 5_000 - run)
    side = np.concatenate([np.ones(run), rest, -np.ones(run)])

    found = linearity(np.arange(10_000.0), side, slope=0.0, intercept=0.0)

    assert found.statistic == pytest.approx(run + 1.0)
    assert found.p_value == pytest.approx(risk, rel=0.02)


@pytest.mark.parametrize("kind", ["deming", "passing-bablok"])
def test_a_sensor_that_saturates_is_not_straight(kind):
    generator = np.random.default_rng(35)
    true = np.linspace(1.0, 40.0, 40)
    sensor = 60.0 * true / (true + 40.0) + generator.normal(0.0, 0.4, 40)

    found = methods(true, sensor, kind=kind)

    assert found.linearity.p_value < 0.02
    assert "not straight" in found.doubts


def test_straight_relations_are_seldom_called_bent():
    generator = np.random.default_rng(8)
    called = 0
    for _ in range(200):
        true = generator.uniform(20.0, 100.0, 40)
        x, y = true + generator.normal(0, 3.0, 40), true + generator.normal(0, 3.0, 40)
        called += "not straight" in methods(x, y).doubts

    assert called <= 6


def test_lots_on_the_line_or_on_one_side_say_nothing_against_it():
    x = np.array([0.1, 0.2, 0.3, 0.7])

    assert linearity(x, 3.0 * x, slope=3.0, intercept=0.0).p_value == 1.0
    assert linearity(x, 3.0 * x, slope=3.0, intercept=-1.0).below == 0
