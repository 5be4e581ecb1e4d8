"""A recipe keeps every limit, is the cheapest that does, and states odds that hold."""

import itertools
import math

import numpy as np
import pytest

from spc.blend.outlook.outlook import frontier, reach
from spc.blend.problem.problem import problem
from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.problem.stock import Assay, StockLot
from spc.blend.problem.target import Window
from spc.blend.recipe import recipe
from spc.blend.search.optimum import optimum
from spc.errors import InvalidInput, LotBarred, NoRecipe


def lot(code, heat, price, *, kg=500.0, u=0.03, shared=0.04, **more):
    return StockLot(
        code=code,
        material="cayenne powder",
        supplier=more.pop("supplier", f"S-{code}"),
        origin=more.pop("origin", "here"),
        price_per_kg=price,
        available_kg=kg,
        assays={
            "heat": Assay(
                value=heat,
                standard_uncertainty=u * heat,
                unit="SHU",
                method="rapid sensor",
                shared_uncertainty=shared * heat,
                **({"basis": more.pop("basis")} if "basis" in more else {}),
            )
        },
        **more,
    )


def heat(lower=38_000.0, upper=42_000.0, **more):
    return Window(characteristic="heat", unit="SHU", lower=lower, upper=upper, **more)


MILD, WARM, HOT = lot("L-1", 30_000, 3.0), lot("L-2", 40_000, 5.0), lot("L-3", 60_000, 4.0)


def by_hand(lots, window, batch, most_lots):
    """The least cost over every choice of whole bags; None if there is none."""
    best = math.inf
    counts = [range(each.whole_bags + 1) for each in lots]
    value = np.array([each.assays["heat"].value for each in lots])
    own = np.array([each.assays["heat"].standard_uncertainty for each in lots])
    shared = np.array([each.assays["heat"].shared_uncertainty for each in lots])
    for bags in itertools.product(*counts):
        kg = np.array(bags) * np.array([each.bag_kg for each in lots])
        if kg.sum() != batch or (kg > 0).sum() > most_lots:
            continue
        share = kg / batch
        mean, sd = share @ value, math.hypot(math.sqrt((share**2) @ (own**2)), share @ shared)
        if not window.lower <= mean <= window.upper:
            continue
        if window.odds is not None:
            z = [(end - mean) / (sd * math.sqrt(2)) for end in (window.lower, window.upper)]
            if (math.erf(z[1]) - math.erf(z[0])) / 2 < window.odds:
                continue
        best = min(best, float(kg @ np.array([each.price_per_kg for each in lots])))
    return None if math.isinf(best) else best


@pytest.mark.thorough
def test_two_hundred_small_orders_are_as_cheap_as_by_trying_everything():
    random = np.random.default_rng(200)
    agreed = {"a recipe": 0, "none": 0}
    for _ in range(200):
        lots = [
            lot(
                f"L-{i}",
                float(random.uniform(2e4, 7e4)),
                float(random.uniform(3.0, 6.0)),
                kg=25.0 * int(random.integers(1, 5)),
                bag_kg=25.0,
                u=float(random.uniform(0.01, 0.06)),
                shared=float(random.uniform(0.0, 0.03)),
            )
            for i in range(4)
        ]
        odds = [None, 0.6, 0.8, 0.9][int(random.integers(4))]
        window = heat(36_000.0, 44_000.0, odds=odds)
        most = int(random.integers(2, 5))
        expected = by_hand(lots, window, 100.0, most)
        asked = problem(lots, window, batch_kg=100.0, rules=Rules(most_lots=most))
        # Not `recipe`, which would also explain each order that nothing fits.
        found = optimum(asked, aim="cost", gap=0.0)
        if found is None:
            assert expected is None
            agreed["none"] += 1
        else:
            assert 100.0 * found.value == pytest.approx(expected, rel=1e-6)
            agreed["a recipe"] += 1

    assert min(agreed.values()) > 20


def test_the_stated_odds_are_those_of_drawn_blends():
    random = np.random.default_rng(50)
    off = []
    for seed in range(50):
        lots = [
            lot(f"L-{i}", float(h), 4.0 + i / 10, u=float(u), kg=200.0)
            for i, (h, u) in enumerate(
                zip(random.uniform(3.2e4, 4.8e4, 5), random.uniform(0.02, 0.08, 5), strict=True)
            )
        ]
        found = recipe(lots, heat(36_000.0), batch_kg=200.0, rules=Rules(weighing=0.002))
        drawn = found.simulated(np.random.default_rng(seed))
        error = math.sqrt(found.odds * (1 - found.odds) / 20_000)
        off.append((drawn.odds - found.odds) / error)

    assert np.max(np.abs(off)) < 4.5
    assert abs(np.mean(off)) < 4.0 / math.sqrt(50)


def test_a_method_s_own_error_does_not_average_out_over_lots():
    many = [lot(f"L-{i}", 40_000.0, 4.0, kg=50.0, shared=0.05) for i in range(10)]

    found = recipe(many, heat(), batch_kg=500.0)

    assert found.of("heat").deviation / 40_000 == pytest.approx(
        math.hypot(0.05, 0.03 / math.sqrt(10)), rel=1e-3
    )


def test_more_certainty_costs_more_and_too_much_of_it_cannot_be_had():
    curve = frontier([MILD, WARM, HOT], [heat()], batch_kg=100.0, odds=(0.5, 0.6, 0.65, 0.99))

    assert np.all(np.diff(curve.cost_per_kg[:3]) >= -1e-6)
    assert math.isnan(curve.cost_per_kg[-1])


def test_stock_reaches_from_its_mildest_to_its_hottest_lot_and_no_further():
    curve = reach([MILD, WARM, HOT], [heat()], batch_kg=100.0, levels=(20_000, 30_000, 6e4, 8e4))

    assert curve.possible == (30_000, 60_000)


@pytest.mark.parametrize("reason", ["rejected", "aflatoxin B1 does not conform", "on hold"])
def test_a_barred_lot_is_never_offered_and_cannot_be_forced_in(reason):
    barred = lot("L-9", 40_000, 0.1, barred=reason)

    found = recipe([MILD, WARM, HOT, barred], heat(), batch_kg=100.0)

    assert "L-9" not in found.portions.lot
    assert any(each.code == "L-9" for each in found.left_out)
    with pytest.raises(LotBarred, match="does not make"):
        recipe(
            [MILD, WARM, HOT, barred],
            heat(),
            batch_kg=100.0,
            rules=Rules(shares=(ShareLimit(of="lot", name="L-9", least=0.1),)),
        )


def test_an_impossible_order_says_what_conflicts_and_what_would_help():
    with pytest.raises(NoRecipe) as refused:
        recipe([MILD, WARM], heat(50_000.0, 54_000.0), batch_kg=100.0)

    assert "heat of at least 50" in str(refused.value)
    assert "SHU" in refused.value.remedy


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: lot("L-1", 4e4, 3.0, kg=-5.0), "-5 kg available"),
        (lambda: lot("L-1", math.nan, 3.0), "value of nan"),
        (lambda: lot("L-1", 4e4, 3.0, basis="wet"), "never guessed"),
        (lambda: ShareLimit(of="each lot", least=0.5, most=0.2), "contradictory"),
        (lambda: heat(5.0, 4.0), "not in order"),
        (lambda: recipe([MILD], heat(), batch_kg=-1.0), "-1"),
        (lambda: recipe([], heat(), batch_kg=1.0), "lot"),
    ],
)
def test_what_cannot_be_is_refused_with_its_sentence(make, said):
    with pytest.raises((InvalidInput, NoRecipe), match=said):
        make()


def test_a_lot_without_the_assay_is_named():
    bare = StockLot(
        code="L-7", material="m", supplier="s", origin="o", price_per_kg=1.0, available_kg=1.0,
        assays={},
    )  # fmt: skip

    with pytest.raises(InvalidInput, match="L-7"):
        recipe([MILD, bare], heat(), batch_kg=1.0)
