"""Recipes of whole bags under everything at once, against trying every choice of bags."""

import itertools
import math

import numpy as np
import pytest
from scipy import stats

from spc.blend.problem.problem import problem
from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.problem.stock import Assay
from spc.blend.problem.target import Window
from spc.blend.search.optimum import optimum

BATCH, BAG = 200.0, 25.0


def drawn(lot, seed):
    """Five lots with heat as-is, colour dry and moisture, and what is asked of their blend."""
    random = np.random.default_rng(seed)
    lots = []
    for place in range(5):
        one = lot(
            f"L{place}",
            float(random.uniform(3e4, 6e4)),
            float(random.uniform(2.0, 5.0)),
            u=float(random.uniform(0.02, 0.06)),
            kg=BAG * int(random.integers(2, 6)),
            bag_kg=BAG,
            supplier=str(random.choice(["Alder", "Birch"])),
            moisture=float(random.uniform(7.0, 12.0)),
        )
        colour = Assay(
            value=float(random.uniform(50.0, 110.0)),
            standard_uncertainty=3.0,
            shared_uncertainty=1.0,
            unit="ASTA units",
            method="spectrophotometer",
            basis="dry",
        )
        one.assays["colour"] = colour
        lots.append(one)
    windows = (
        Window(characteristic="heat", unit="SHU", lower=41e3, upper=49e3, odds=0.9),
        Window(characteristic="colour", unit="ASTA units", lower=72.0, basis="dry", odds=0.8),
        Window(characteristic="moisture", unit="g/100 g", upper=10.5),
    )
    rules = Rules(
        most_lots=4,
        weighing=0.01,
        shares=[
            ShareLimit(of="each lot", least=0.2, most=0.5),
            ShareLimit(of="supplier", name="Birch", most=0.7),
        ],
    )
    return problem(lots, windows, batch_kg=BATCH, rules=rules)


def allowed(asked, kilograms):
    """Whether a choice keeps everything, said without the optimiser's rows."""
    share = kilograms / asked.batch_kg
    used = share > 0.0
    if used.sum() > asked.rules.most_lots:
        return False
    each, birch = asked.rules.shares
    of_birch = share[np.array([one.supplier == birch.name for one in asked.lots])].sum()
    if share[used].min() < each.least or share.max() > each.most or of_birch > birch.most + 1e-12:
        return False
    for mixing in asked.mixings:
        window = mixing.window
        mean, deviation = mixing.mean(kilograms), mixing.deviation(kilograms)
        if not window.low <= mean <= window.high:
            return False
        blend = stats.norm(mean, deviation or 1e-300)
        if float(blend.cdf(window.high) - blend.cdf(window.low)) < (window.odds or 0.0):
            return False
    return True


def cheapest(asked):
    """The least cost of all choices of bags that keep everything; infinite if none does."""
    counts = [range(one.whole_bags + 1) for one in asked.lots]
    bags = np.array(list(itertools.product(*counts)), dtype=np.float64)
    kilograms = BAG * bags[bags.sum(axis=1) == asked.batch_kg / BAG]
    cost = kilograms @ asked.price
    order = np.argsort(cost, kind="stable")
    return next((cost[each] for each in order if allowed(asked, kilograms[each])), math.inf)


@pytest.mark.thorough
def test_thirty_orders_with_every_kind_of_rule_are_as_cheap_as_by_trying_everything(lot):
    made = []
    for seed in range(30):
        asked = drawn(lot, seed)

        found = optimum(asked, aim="cost", gap=0.0)

        cost = math.inf if found is None else BATCH * found.value
        assert cost == pytest.approx(cheapest(asked), rel=1e-6)
        made.append(math.isfinite(cost))
    assert 8 < sum(made) < 30


def test_a_coarser_gap_states_a_bound_that_no_recipe_is_below(lot):
    for seed in range(12):
        asked = drawn(lot, seed)
        found = optimum(asked, aim="cost", gap=0.05)
        if found is None:
            continue

        assert BATCH * found.bound <= cheapest(asked) * (1.0 + 1e-6)
        assert found.gap <= 0.05 + 1e-9
