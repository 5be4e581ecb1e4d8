"""The least uncertain recipe, against every choice of bags and against another solver."""

import itertools
import math

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import optimize, stats

from spc.blend.problem.problem import problem
from spc.blend.problem.rules import Rules
from spc.blend.recipe import recipe
from spc.blend.search.assembly import assemble
from spc.blend.search.optimum import optimum

BATCH, BAG = 200.0, 25.0


@pytest.fixture
def drawn(lot, heat):
    """Five lots in bags, some with one open; every other order asks for odds."""

    def made(seed, *, basis="as-is", tolerance=0.0, bag_kg=BAG):
        random = np.random.default_rng(seed)
        lots = [
            lot(
                f"L{place}",
                float(random.uniform(3e4, 6e4)),
                float(random.uniform(2.0, 5.0)),
                u=float(random.uniform(0.01, 0.08)),
                shared=float(random.uniform(0.0, 0.03)),
                kg=4.0 * BAG,
                bag_kg=bag_kg,
                moisture=float(random.uniform(6.0, 14.0)),
            )
            for place in range(5)
        ]
        window = heat(3.8e4, 5.2e4, basis=basis, odds=0.8 if seed % 2 else None)
        rules = Rules(most_lots=int(random.integers(2, 5)), batch_tolerance_kg=tolerance)
        return problem(lots, window, batch_kg=BATCH, rules=rules)

    return made


def kept(asked, kilograms):
    """Whether a choice of bags keeps the order, said without the optimiser's rows."""
    mixing, window = asked.mixings[0], asked.windows[0]
    mean, deviation = mixing.mean(kilograms), mixing.deviation(kilograms)
    blend = stats.norm(mean, deviation)
    inside = float(blend.cdf(window.high) - blend.cdf(window.low))
    right = abs(kilograms.sum() - BATCH) <= asked.rules.batch_tolerance_kg + 1e-9
    few = np.count_nonzero(kilograms) <= asked.rules.most_lots
    return right and few and window.low <= mean <= window.high and inside >= (window.odds or 0.0)


def least(asked):
    """The least deviation of every choice of bags that keeps the order; infinite if none does."""
    choices = itertools.product(range(5), repeat=len(asked.lots))
    kilograms = BAG * np.array([bags for bags in choices if 6 <= sum(bags) <= 10], dtype=np.float64)
    mixing = asked.mixings[0]
    found = (mixing.deviation(each) for each in kilograms if kept(asked, each))
    return min(found, default=math.inf)


@pytest.mark.thorough
@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize(
    "how", [{}, {"basis": "dry"}, {"tolerance": 25.0}], ids=["as-is", "dry", "about so large"]
)
def test_no_choice_of_bags_is_less_uncertain_than_the_bound_nor_better_by_the_gap(drawn, seed, how):
    """Dry and about so large the variance is a ratio, known to some 1e-5."""
    asked = drawn(seed, **how)
    smallest, ratio = least(asked), 2.5e-5 if how else 1e-7

    for gap in (0.0, 1e-3):
        found = optimum(asked, aim="least spread", gap=gap)

        if found is None:
            assert math.isinf(smallest)
            return
        deviation = asked.mixings[0].deviation(found.model.shares(found.found.point))
        assert found.value == pytest.approx(deviation, rel=1e-9)
        assert found.bound <= smallest * (1.0 + 1e-7)
        assert smallest * (1.0 - 1e-7) <= deviation <= smallest * (1.0 + gap + ratio)
        assert found.gap <= gap + ratio


@pytest.mark.parametrize("odds", [None, 0.95])
def test_where_any_amount_can_be_weighed_another_solver_comes_to_the_same_deviation(
    lot, heat, odds
):
    random = np.random.default_rng(4)
    value, doubt = random.uniform(3e4, 6e4, 8), random.uniform(0.02, 0.08, 8)
    lots = [
        lot(f"L{place}", float(each), u=float(own), kg=60.0)
        for place, (each, own) in enumerate(zip(value, doubt, strict=True))
    ]
    window = heat(4.1e4, 4.6e4, odds=odds)
    asked = problem(lots, window, batch_kg=BATCH, rules=Rules())
    mixing = asked.mixings[0]

    def thousands(share: NDArray[np.float64]) -> float:
        return mixing.deviation(share) / 1_000.0

    def chance(share):
        blend = stats.norm(mixing.mean(share), mixing.deviation(share))
        return float(blend.cdf(window.high) - blend.cdf(window.low))

    limits: list[optimize.LinearConstraint | optimize.NonlinearConstraint] = [
        optimize.LinearConstraint(np.ones((1, 8)), 1.0, 1.0),
        optimize.LinearConstraint(value[None, :] / 1e4, 4.1, 4.6),
        optimize.NonlinearConstraint(chance, odds or 0.0, 1.0),
    ]
    other = optimize.minimize(
        thousands,
        np.full(8, 1 / 8),
        bounds=optimize.Bounds(0.0, 0.3),
        constraints=limits,
        method="SLSQP",
        tol=1e-12,
    )
    found = recipe(lots, window, batch_kg=BATCH, aim="least spread", gap=1e-4)

    assert other.success
    assert found.value == pytest.approx(1_000.0 * other.fun, rel=2e-4)
    assert found.bound <= 1_000.0 * other.fun * (1.0 + 1e-6)


def test_no_line_of_the_model_lies_above_a_square_that_bags_can_make(lot, heat):
    """Of one lot three bags of 25 kg and 10 kg that lie open, of the other any amount."""
    lots = [lot("A", 4e4, kg=85.0, bag_kg=25.0, opened_kg=10.0), lot("B", 5e4, kg=80.0)]
    asked = problem(lots, heat(), batch_kg=BATCH, rules=Rules(most_lots=2))
    variance = assemble(asked, aim="least spread").variance
    assert variance is not None
    amounts = [
        np.add.outer(25.0 * np.arange(4), np.linspace(0.0, 10.0, 21)).ravel(),
        np.linspace(0.0, 80.0, 161),
    ]

    for place, kilograms in enumerate(amounts):
        squared = variance.own[place] * kilograms / BATCH
        for slope, constant in variance.rough_lines(place, 40):
            assert np.all(slope * squared - constant <= squared**2 + 1e-9)
        highest = [variance.line(place, float(each)) for each in squared]
        touching = [
            slope * u - constant for (slope, constant), u in zip(highest, squared, strict=True)
        ]
        assert touching == pytest.approx(squared**2)


def test_among_recipes_as_certain_a_cheap_one_is_taken(lot, heat):
    lots = [lot("dear", 44_000.0, 9.0), lot("cheap", 44_000.0, 1.0)]

    found = recipe(lots, heat(), batch_kg=BATCH, aim="least spread", rules=Rules(most_lots=1))

    assert found.portions.lot.tolist() == ["cheap"]


def test_an_order_that_nothing_fits_has_no_least_uncertain_recipe(lot, heat):
    asked = problem([lot("A", 3e4)], heat(), batch_kg=BATCH, rules=Rules())

    assert optimum(asked, aim="least spread", gap=1e-3) is None


def test_lots_that_are_known_exactly_make_a_blend_that_is(lot, heat):
    lots = [lot("A", 3e4, u=0.0, shared=0.0), lot("B", 6e4, u=0.0, shared=0.0)]

    found = recipe(lots, heat(), batch_kg=BATCH, aim="least spread")

    assert (found.value, found.gap) == (0.0, 0.0)
