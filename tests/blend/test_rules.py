"""The rules of a blend hold in its recipe, and rules that contradict themselves are refused."""

import pytest

from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.recipe import recipe
from spc.errors import InvalidInput, NoRecipe


def shares(found):
    return dict(zip(found.portions.lot.tolist(), found.portions.share.tolist(), strict=True))


@pytest.fixture
def lots(lot):
    """Mild is cheap; each level once from Alder in the north and once from Birch in the south."""
    return [
        lot("A1", 30_000.0, 2.0),
        lot("B1", 31_000.0, 2.1, supplier="Birch", origin="south"),
        lot("A2", 60_000.0, 5.0),
        lot("B2", 61_000.0, 5.2, supplier="Birch", origin="south"),
        lot("C", 90_000.0, 9.0, material="habanero powder"),
    ]


@pytest.mark.parametrize(
    ("limit", "code"),
    [
        (ShareLimit(of="supplier", name="Birch", least=0.25), "B"),
        (ShareLimit(of="origin", name="south", least=0.25), "B"),
        (ShareLimit(of="material", name="habanero powder", least=0.25), "C"),
        (ShareLimit(of="lot", name="B2", least=0.25), "B2"),
    ],
)
def test_a_share_asked_of_a_supplier_an_origin_a_material_or_a_lot_is_there(
    lots, heat, limit, code
):
    found = recipe(lots, heat(), batch_kg=100.0, rules=Rules(shares=[limit]))

    taken = sum(share for lot, share in shares(found).items() if lot.startswith(code))
    assert taken == pytest.approx(0.25, abs=1e-6)


def test_the_most_of_a_supplier_is_not_exceeded_though_it_is_the_cheapest(lots, heat):
    limit = ShareLimit(of="supplier", name="Alder", most=0.6)

    found = recipe(lots, heat(), batch_kg=100.0, rules=Rules(shares=[limit]))

    alder = [share for lot, share in shares(found).items() if lot[0] in "AC"]
    assert sum(alder) == pytest.approx(0.6, abs=1e-6)


def test_a_lot_that_is_used_has_its_least_share_and_none_has_more_than_its_most(lots, heat):
    rules = Rules(shares=[ShareLimit(of="each lot", least=0.3, most=0.45)])

    found = recipe(lots, heat(), batch_kg=100.0, rules=rules)

    assert all(0.3 - 1e-6 <= share <= 0.45 + 1e-6 for share in shares(found).values())


def test_two_lots_do_not_keep_the_odds_that_three_keep(lots, heat):
    window = heat(42_000.0, 46_000.0, odds=0.95)
    rules = {most: Rules(most_lots=most, leave_out=["A2"]) for most in (2, 3)}

    found = recipe(lots, window, batch_kg=100.0, rules=rules[3])

    assert found.portions.lot.size == 3
    assert found.odds >= 0.95 - 1e-9
    with pytest.raises(NoRecipe, match=r"at most 2 lots.*Up to 3 lots would do"):
        recipe(lots, window, batch_kg=100.0, rules=rules[2])


def test_whole_bags_stay_whole_and_an_opened_one_gives_what_is_left(lot, heat):
    """67 kg of bags of 25 and of 20 and 2 kg that lie open: there is one way."""
    lots = [
        lot("A", 30_000.0, 2.0, kg=127.0, bag_kg=25.0, opened_kg=2.0),
        lot("B", 60_000.0, 5.0, kg=100.0, bag_kg=20.0),
    ]

    portions = recipe(lots, heat(), batch_kg=67.0).portions

    assert portions.lot.tolist() == ["B", "A"]
    assert portions.bags.tolist() == [2, 1]
    assert portions.weighed_kg == pytest.approx([0.0, 2.0])
    assert portions.kg == pytest.approx([40.0, 27.0])
    assert portions.cost == pytest.approx([200.0, 54.0])


def test_an_opened_bag_is_used_up_before_a_whole_one_is_started(lot, heat):
    """Ten of the mild lot lie open; a bag of it and 15 kg of the hot one would be cheaper."""
    lots = [
        lot("A", 30_000.0, 1.0, kg=60.0, bag_kg=25.0, opened_kg=10.0),
        lot("B", 60_000.0, 5.0),
    ]
    window = heat(36_000.0, 55_000.0)

    freely = recipe(lots, window, batch_kg=33.0)
    strictly = recipe(lots, window, batch_kg=33.0, rules=Rules(opened_first=True))

    assert freely.portions.weighed_kg[0] < 10.0
    assert freely.portions.bags[0] == 1
    assert strictly.portions.bags.sum() == 0
    assert strictly.cost > freely.cost


def test_the_batch_may_be_off_by_its_tolerance_where_bags_want_it(lot, heat):
    lots = [lot("A", 45_000.0, kg=300.0, bag_kg=25.0)]

    found = recipe(lots, heat(), batch_kg=110.0, rules=Rules(batch_tolerance_kg=15.0))

    assert found.batch_kg == 100.0
    with pytest.raises(NoRecipe, match="whole bags"):
        recipe(lots, heat(), batch_kg=110.0, rules=Rules(batch_tolerance_kg=5.0))


def test_a_lot_that_expires_too_soon_or_was_tested_too_long_ago_is_not_used(lot, heat):
    lots = [
        lot("old", 45_000.0, 1.0, expires_in_days=60.0),
        lot("stale", 45_000.0, 2.0, result_days=300.0),
        lot("good", 45_000.0, 3.0),
    ]

    assert recipe(lots, heat(), batch_kg=100.0).portions.lot.tolist() == ["old"]
    kept = recipe(lots, heat(), batch_kg=100.0, rules=Rules(shelf_life_days=90.0))
    assert kept.portions.lot.tolist() == ["stale"]
    assert (kept.expires_in_days, kept.result_age_days) == (400.0, 300.0)
    both = Rules(shelf_life_days=90.0, most_result_age_days=100.0)
    assert recipe(lots, heat(), batch_kg=100.0, rules=both).portions.lot.tolist() == ["good"]


def test_what_is_not_offered_is_listed_with_its_reason(lot, heat):
    lots = [
        lot("A", 45_000.0),
        lot("B", 45_000.0, barred="on hold since 3 May"),
        lot("C", 45_000.0, kg=0.0),
        lot("D", 45_000.0),
    ]

    found = recipe(lots, heat(), batch_kg=10.0, rules=Rules(leave_out=["D"]))

    assert {each.code: each.reason for each in found.left_out} == {
        "B": "on hold since 3 May",
        "C": "nothing available",
        "D": "left out by request",
    }


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: ShareLimit(of="lot", least=0.1), "the name '' does not go with 'lot'"),
        (lambda: ShareLimit(of="each lot", name="A"), "does not go with 'each lot'"),
        (lambda: Rules(most_lots=0), "at most 0 lots make no batch"),
        (lambda: Rules(weighing=-0.1), "weighing of -0.1 is not possible"),
        (lambda: Rules(batch_tolerance_kg=-1.0), "tolerance of -1 kg"),
        (
            lambda: Rules(shares=[ShareLimit(of="lot", name=n, least=0.6) for n in "AB"]),
            r"asked for of each lot add up to 120",
        ),
        (
            lambda: Rules(
                most_lots=1, shares=[ShareLimit(of="lot", name=n, least=0.1) for n in "AB"]
            ),
            "2 lots are asked for by name, but at most 1 allowed",
        ),
        (
            lambda: Rules(most_lots=2, shares=[ShareLimit(of="each lot", most=0.4)]),
            "2 lots of at most 40 % make no whole batch",
        ),
        (
            lambda: Rules(shares=[ShareLimit(of="supplier", name="Alder", most=0.4)] * 2),
            "supplier Alder has two limits of share",
        ),
    ],
)
def test_contradictory_rules_are_refused(make, words):
    with pytest.raises(InvalidInput, match=words):
        make()


@pytest.mark.parametrize(
    ("change", "rules", "words"),
    [
        ({}, Rules(batch_tolerance_kg=10.0), "batch of 10 ± 10 kg is not possible"),
        ({}, Rules(shares=[ShareLimit(of="lot", name="Z", least=0.1)]), "lot Z is asked for"),
        (
            {},
            Rules(shares=[ShareLimit(of="supplier", name="Cedar", least=0.1)]),
            "supplier Cedar is asked for, but has nothing on offer",
        ),
        (
            {},
            Rules(leave_out=["A"], shares=[ShareLimit(of="lot", name="A", least=0.1)]),
            "lot A is asked for and left out",
        ),
        ({}, Rules(leave_out=["A"]), "no lot is on offer"),
        ({"expires_in_days": None}, Rules(shelf_life_days=1.0), "lot A has no date of expiry"),
        (
            {"result_days": None},
            Rules(most_result_age_days=1.0),
            "lot A has a result without a date",
        ),
    ],
)
def test_rules_that_do_not_fit_the_stock_are_refused(lot, heat, change, rules, words):
    with pytest.raises(InvalidInput, match=words):
        recipe([lot("A", 45_000.0, **change)], heat(), batch_kg=10.0, rules=rules)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"kg": -1.0}, "lot A: -1 kg available"),
        ({"opened_kg": -1.0}, "-1 kg opened"),
        ({"kg": 5.0, "opened_kg": 6.0, "bag_kg": 25.0}, "6 kg opened is more than 5 kg available"),
        ({"bag_kg": 0.0}, "a bag of 0 kg"),
        ({"price": -2.0}, "a price of -2 per kg"),
        ({"u": -0.1}, "is not possible"),
    ],
)
def test_stock_that_cannot_be_is_refused_with_its_lot(lot, change, words):
    with pytest.raises(InvalidInput, match=words):
        lot("A", 45_000.0, **change)


def test_a_lot_or_a_characteristic_given_twice_is_refused(lot, heat):
    with pytest.raises(InvalidInput, match="lot A is listed twice"):
        recipe([lot("A", 45_000.0)] * 2, heat(), batch_kg=10.0)
    with pytest.raises(InvalidInput, match="heat has two windows"):
        recipe([lot("A", 45_000.0)], [heat(), heat()], batch_kg=10.0)
    with pytest.raises(InvalidInput, match="nothing is asked"):
        recipe([lot("A", 45_000.0)], [], batch_kg=10.0)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"lower": None, "upper": None}, "no finite limit and no target"),
        ({"target": 60_000.0}, "are not in order"),
        ({"odds": 0.4}, "odds of 0.4 cannot be asked for"),
        ({"odds": 1.0}, "odds of 1 cannot be asked for"),
        ({"lower": 5e4, "upper": 5e4, "odds": 0.9}, "odds need a window with room in it"),
    ],
)
def test_a_window_that_asks_for_nothing_or_too_much_is_refused(heat, change, words):
    with pytest.raises(InvalidInput, match=words):
        heat(**change)


@pytest.mark.parametrize(
    ("batch", "hot", "mild", "mean"), [(975.0, 9, 30, 45_077.0), (1_000.0, 9, 31, 44_725.0)]
)
def test_hot_bags_and_mild_bags_come_nearest_to_the_level_as_on_the_floor(
    lot, heat, batch, hot, mild, mean
):
    """92 000 and 31 000 SHU in bags of 25 kg to 45 000: worked by hand; 5 % of each lot's own."""
    lots = [
        lot("hot", 92_000.0, u=0.05, shared=0.0, bag_kg=25.0),
        lot("mild", 31_000.0, u=0.05, shared=0.0, bag_kg=25.0),
    ]

    found = recipe(lots, heat(target=45_000.0), batch_kg=batch, aim="nearest")

    bags = dict(zip(found.portions.lot.tolist(), found.portions.bags.tolist(), strict=True))
    assert bags == {"hot": hot, "mild": mild}
    assert found.of("heat").mean == pytest.approx(mean, abs=0.5)
    assert found.of("heat").deviation == pytest.approx(1_590.0, abs=15.0)
