"""Why there is no recipe, and what would make one possible: true, and no more than needed."""

import re
from dataclasses import replace

import pytest

from spc.blend.explain.conflict import conflict, feasible
from spc.blend.explain.figures import rounded
from spc.blend.problem.problem import problem
from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.recipe import recipe
from spc.errors import NoRecipe


def refusal(*args, **more):
    with pytest.raises(NoRecipe) as refused:
        recipe(*args, **more)
    return refused.value


def numbers(sentence):
    grouped = re.findall(r"\d[\d\u202f]*(?:\.\d+)?", sentence)
    return [float(each.replace("\u202f", "")) for each in grouped]


@pytest.mark.thorough
def test_without_any_one_of_a_conflict_there_is_a_recipe_and_with_all_there_is_none(
    asking_too_much,
):
    sizes = []
    for seed in range(30):
        asked = asking_too_much(seed)
        if feasible(asked, whole=True):
            continue
        found = conflict(asked)
        others = set(asked.constraints()) - set(found.constraints)

        assert not feasible(asked, without=others, whole=True)
        for one in found.constraints:
            assert feasible(asked, without=others | {one}, whole=found.whole)
        sizes.append(len(found.constraints))

    assert len(sizes) > 6
    assert max(sizes) > 1


def test_a_heat_above_every_lot_names_the_hottest_and_what_to_buy(lot, heat):
    lots = [lot("A", 30_000.0), lot("B", 60_000.0)]

    found = refusal(lots, heat(62_000.0, 70_000.0), batch_kg=1_000.0)

    assert found.conflict == ("heat of at least 62\u202f000 SHU",)
    assert found.cures[0] == "Heat of at least 60\u202f000 SHU would do."
    assert found.cures[1].startswith("No lot on offer has heat above 60\u202f000 SHU: ")
    _, kilograms, value = numbers(found.cures[1])
    # What is said would do, and a good deal less would not.
    for factor, enough in [(1.0, True), (0.9, False)]:
        bought = lot("C", factor * value, kg=kilograms)
        asked = problem([*lots, bought], heat(62_000.0, 70_000.0), batch_kg=1_000.0, rules=Rules())
        assert feasible(asked, whole=True) is enough


def test_too_large_a_batch_is_told_what_stock_allows(lot, heat):
    found = refusal([lot("A", 45_000.0, kg=640.0)], heat(), batch_kg=1_000.0)

    assert found.conflict == ("the kilograms in stock", "a batch of 1\u202f000 kg")
    assert found.cures == ("A batch of 640 kg would do.", "400 kg of a lot on target would do.")


def test_odds_that_cannot_be_had_are_told_which_can(lot, heat):
    lots = [lot("A", 44_000.0, u=0.06), lot("B", 46_000.0, u=0.06)]
    window = heat(43_000.0, 47_000.0, odds=0.95)

    found = refusal(lots, window, batch_kg=100.0)

    assert found.conflict == ("odds of at least 95.0 % that heat lies inside its limits",)
    possible = numbers(found.cures[0])[0] / 100.0
    assert recipe(lots, replace(window, odds=possible), batch_kg=100.0).odds >= possible - 1e-9
    assert 0.6 < possible < 0.95
    # One point more would not do: it is the nearest.
    refusal(lots, replace(window, odds=possible + 0.01), batch_kg=100.0)


def test_where_a_wider_window_alone_would_do_it_is_said_beside_the_odds(lot, heat):
    lots = [lot("A", 44_000.0, u=0.06), lot("B", 46_000.0, u=0.06)]
    window = heat(43_000.0, 47_000.0, odds=0.8)

    found = refusal(lots, window, batch_kg=100.0)

    odds, lower, upper = found.cures
    assert odds.startswith("Odds of at least")
    for cure, moved in ((lower, "lower"), (upper, "upper")):
        limit = numbers(cure)[0]
        assert recipe(lots, replace(window, **{moved: limit}), batch_kg=100.0).odds >= 0.8 - 1e-9
        nearer = limit + 0.2 * (getattr(window, moved) - limit)
        refusal(lots, replace(window, **{moved: nearer}), batch_kg=100.0)


def test_a_level_far_beyond_stock_is_told_what_stock_reaches_and_not_offered_as_a_cure(lot, heat):
    lots = [lot("A", 30_000.0), lot("B", 34_000.0)]

    found = refusal(lots, heat(400_000.0, 440_000.0), batch_kg=100.0)

    assert found.cures[0] == (
        "All else kept, the lots on offer reach heat of at least 34\u202f000 SHU, no higher."
    )
    assert not any("would do" in one for one in found.cures)


@pytest.mark.parametrize(
    ("change", "rules", "words", "cure"),
    [
        ({"expires_in_days": 90.0}, Rules(shelf_life_days=120.0), "shelf life", "of 90 days"),
        ({"result_days": 90.0}, Rules(most_result_age_days=60.0), "results", "up to 90 days old"),
        (
            {},
            Rules(shares=[ShareLimit(of="each lot", most=0.25)]),
            "each lot at most 25 %",
            "Each lot at most 50 %",
        ),
        (
            {},
            Rules(shares=[ShareLimit(of="supplier", name="Alder", most=0.5)]),
            "supplier Alder at most 50 %",
            "Supplier Alder at most 100 %",
        ),
        ({"kg": 300.0, "bag_kg": 30.0}, Rules(), "whole bags", "Weighing out a part of a bag"),
    ],
)
def test_a_rule_that_is_in_the_way_is_named_with_what_would_do(
    lot, heat, change, rules, words, cure
):
    lots = [lot("A", 44_000.0, **change), lot("B", 46_000.0, **change)]

    found = refusal(lots, heat(), batch_kg=100.0, rules=rules)

    assert any(words in each for each in found.conflict)
    assert any(cure in each for each in found.cures)


@pytest.mark.parametrize(
    ("value", "up", "told"),
    [
        (84_321.0, True, 84_400.0),
        (84_321.0, False, 84_300.0),
        (0.01239, True, 0.0124),
        (5.0, True, 5.0),
        (0.0, True, 0.0),
    ],
)
def test_a_figure_is_rounded_to_the_side_that_stays_true(value, up, told):
    assert rounded(value, up=up) == pytest.approx(told, rel=1e-12)


def test_what_the_lots_reach_at_odds_is_the_highest_level_that_they_reach(lot, heat):
    lots = [lot("A", 40_000.0, u=0.06), lot("B", 48_000.0, u=0.06)]
    window = heat(350_000.0, 480_000.0, odds=0.95)

    found = refusal(lots, window, batch_kg=100.0)

    reached = numbers(found.cures[0])[0]
    assert found.cures[0].endswith("no higher.")
    assert recipe(lots, replace(window, lower=reached), batch_kg=100.0).odds >= 0.95 - 1e-9
    refusal(lots, replace(window, lower=1.01 * reached), batch_kg=100.0)
