"""What a recipe may aim for besides its cost, against trying every choice of bags."""

import itertools

import numpy as np
import pytest

from spc.blend.recipe import recipe
from spc.errors import InvalidInput

BATCH = 100.0


@pytest.fixture
def lots(lot):
    """Four lots of bags of 25 kg, drawn anew for each seed."""

    def drawn(seed):
        random = np.random.default_rng(seed)
        return [
            lot(
                f"L{place}",
                float(random.uniform(3e4, 6e4)),
                float(random.uniform(2.0, 5.0)),
                u=float(random.uniform(0.01, 0.06)),
                kg=75.0,
                bag_kg=25.0,
                age_days=float(random.integers(1, 300)),
            )
            for place in range(4)
        ]

    return drawn


def choices(lots, window):
    """Kilograms of every choice of bags inside the window."""
    counts = itertools.product(range(4), repeat=len(lots))
    kilograms = np.array([bags for bags in counts if sum(bags) == 4]) * 25.0
    mean = kilograms @ np.array([each.assays["heat"].value for each in lots]) / BATCH
    return kilograms[(window.low <= mean) & (mean <= window.high)]


@pytest.mark.parametrize("seed", range(8))
def test_nearest_is_as_near_to_the_target_as_any_choice(lots, heat, seed):
    window, stock = heat(36_000.0, 54_000.0, target=44_000.0), lots(seed)
    value = np.array([each.assays["heat"].value for each in stock])
    nearest = np.abs(choices(stock, window) @ value / BATCH - 44_000.0).min()

    found = recipe(stock, window, batch_kg=BATCH, aim="nearest", gap=0.0)

    assert abs(found.of("heat").mean - 44_000.0) == pytest.approx(nearest, abs=1e-3)
    assert found.value == pytest.approx(1.0 + nearest / 9_000.0, abs=1e-6)


@pytest.mark.parametrize("seed", range(8))
def test_oldest_first_uses_stock_as_old_as_any_choice(lots, heat, seed):
    window, stock = heat(38_000.0, 52_000.0), lots(seed)
    age = np.array([each.age_days for each in stock])
    oldest = (choices(stock, window) @ age / BATCH).max()

    found = recipe(stock, window, batch_kg=BATCH, aim="oldest first", gap=0.0)

    assert found.kilograms @ age / BATCH == pytest.approx(oldest, rel=1e-6)


def test_among_recipes_that_are_as_near_the_cheapest_is_taken(lot, heat):
    stock = [lot("dear", 44_000.0, 9.0), lot("cheap", 44_000.0, 1.0)]

    found = recipe(stock, heat(target=44_000.0), batch_kg=BATCH, aim="nearest")

    assert found.portions.lot.tolist() == ["cheap"]
    assert found.gap <= 1e-3


def test_an_aim_that_lacks_its_datum_is_refused(lot, heat):
    stock = [lot("A", 44_000.0, age_days=None)]

    with pytest.raises(InvalidInput, match="there is no target to come near to"):
        recipe(stock, heat(), batch_kg=BATCH, aim="nearest")
    with pytest.raises(InvalidInput, match="lot A has no date of receipt"):
        recipe(stock, heat(), batch_kg=BATCH, aim="oldest first")
    with pytest.raises(InvalidInput, match="a gap of 1 is not possible"):
        recipe(stock, heat(), batch_kg=BATCH, gap=1.0)
