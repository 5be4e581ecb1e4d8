"""What a step of a limit is said to save is what the order solved anew saves."""

import math
from dataclasses import replace

import pytest

from spc.blend.outlook.steps import eased_orders, steps
from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.recipe import recipe, solve
from tests.blend.test_exactness import cheapest, drawn


@pytest.fixture
def lots(lot):
    """The hot lots are dear; each is weighed out, and of the cheap one there is little."""
    return [
        lot("mild", 30_000.0, 2.0, kg=200.0),
        lot("warm", 45_000.0, 3.0, kg=30.0),
        lot("hot", 70_000.0, 5.0, kg=200.0, supplier="Birch"),
    ]


def by_constraint(made):
    return {one.constraint: one for one in steps(made, gap=0.0)}


def test_each_step_is_the_order_solved_anew(lots, heat):
    rules = Rules(most_lots=3, shares=[ShareLimit(of="supplier", name="Birch", least=0.5)])

    def cost(lower=46_000.0, odds=0.9, batch=100.0, rules=rules, kg=30.0):
        stocked = [lots[0], replace(lots[1], available_kg=kg), lots[2]]
        return recipe(
            stocked, heat(lower, None, odds=odds), batch_kg=batch, rules=rules, gap=0.0
        ).cost

    made = recipe(lots, heat(46_000.0, None, odds=0.9), batch_kg=100.0, rules=rules, gap=0.0)
    told = by_constraint(made)

    eased = Rules(most_lots=3, shares=[ShareLimit(of="supplier", name="Birch", least=0.49)])
    expected = {
        "supplier Birch at least 50 %": ("one percentage point less", cost(rules=eased)),
        "a batch of 100 kg": ("10 kg more", cost(batch=110.0)),
    }
    assert told.keys() >= expected.keys()
    for constraint, (words, then) in expected.items():
        step = told[constraint]
        assert step.step == words
        assert step.saved == pytest.approx(made.cost - then, abs=1e-6)
        assert step.least <= step.saved <= step.most


def test_a_limit_and_its_odds_are_eased_by_one_per_cent_and_one_point(lots, heat):
    def cost(lower, odds):
        return recipe(lots, heat(lower, None, odds=odds), batch_kg=100.0, gap=0.0).cost

    made = recipe(lots, heat(46_000.0, None, odds=0.9), batch_kg=100.0, gap=0.0)
    told = by_constraint(made)

    limit = told["heat of at least 46\u202f000 SHU"]
    assert limit.step == "500 SHU lower"
    assert limit.saved == pytest.approx(made.cost - cost(45_500.0, 0.9), abs=1e-6)
    odds = next(one for text, one in told.items() if text.startswith("odds"))
    assert odds.step == "one percentage point less"
    assert odds.saved == pytest.approx(made.cost - cost(46_000.0, 0.89), abs=1e-6)


def test_the_saving_of_a_step_holds_against_every_choice_of_bags(lot):
    tried = 0
    for seed in range(30):
        if tried >= 10:
            break
        asked = drawn(lot, seed)
        if math.isinf(before := cheapest(asked)):
            continue
        made = solve(asked, gap=1e-3)
        told = {one.constraint: one for one in steps(made)}
        for text, (changed, words) in eased_orders(made):
            saved = before - cheapest(changed)
            if text in told:
                one = told[text]
                assert one.step == words
                assert one.least - 1e-6 <= saved <= one.most + 1e-6, one
                tried += 1
            elif math.isfinite(saved):
                assert abs(saved) <= 2e-3 * made.cost, (seed, text)
    assert tried >= 10


def test_nothing_below_the_gap_is_said(lots, heat):
    made = recipe(lots, heat(46_000.0, None, odds=0.9), batch_kg=100.0, gap=0.0)
    limit = by_constraint(made)["heat of at least 46\u202f000 SHU"]
    open_by = limit.saved / made.cost

    sure = by_constraint(replace(made, bound=made.value * (1.0 - 0.9 * open_by)))
    doubtful = by_constraint(replace(made, bound=made.value * (1.0 - 1.1 * open_by)))

    assert limit.constraint in sure
    assert limit.constraint not in doubtful


def test_a_recipe_for_another_aim_has_no_price(lots, heat):
    made = recipe(lots, heat(46_000.0, target=47_000.0), batch_kg=100.0, aim="nearest")

    assert steps(made) == ()
