"""Sampling of dried spices for mycotoxins: Regulation (EU) 2023/2782, Annex I, parts E and M."""

import pytest

from spc.acceptance import increments

# Part E (whole and flaked): lot above and up to, in tonnes; increments; aggregate sample, kg.
WHOLE = [
    (0, 0.01, 5, 0.5),
    (0.01, 0.1, 10, 1),
    (0.1, 0.2, 15, 1.5),
    (0.2, 0.5, 20, 2),
    (0.5, 1.0, 30, 3),
    (1.0, 2.0, 40, 4),
    (2.0, 5.0, 60, 6),
    (5.0, 10.0, 80, 8),
    (10.0, 15.0, 100, 10),
]

# Part M (powders).
POWDER = [
    (0, 0.1, 3, 0.2),
    (0.1, 0.5, 10, 0.8),
    (0.5, 5.0, 25, 2.0),
    (5.0, 10.0, 35, 2.8),
    (10.0, 15.0, 50, 4.0),
]

ROWS = [(form, *row) for form in ("whole", "flakes") for row in WHOLE]
ROWS += [("powder", *row) for row in POWDER]


@pytest.mark.parametrize(("form", "over", "upto", "count", "aggregate"), ROWS)
def test_every_row_holds_from_above_its_lower_end_to_its_upper_end(
    form, over, upto, count, aggregate
):
    for tonnes in (over + 1e-6, (over + upto) / 2.0, upto):
        advice = increments(lot_kg=1000.0 * tonnes, form=form)

        assert (advice.increments, advice.aggregate_kg) == (count, aggregate)
        assert advice.increment_kg == (0.08 if form == "powder" else 0.1)
        assert advice.sub_lots == 1


@pytest.mark.parametrize(("form", "count", "aggregate"), [("powder", 35, 2.8), ("flakes", 80, 8.0)])
def test_eight_tonnes(form, count, aggregate):
    advice = increments(lot_kg=8000.0, form=form)

    assert (advice.increments, advice.aggregate_kg) == (count, aggregate)


@pytest.mark.parametrize(("form", "nth"), [("powder", 11), ("flakes", 5)])
def test_ten_tonnes_in_bags_of_25_kg(form, nth):
    """Frequency = lot mass times increment mass, over aggregate mass times package mass."""
    advice = increments(lot_kg=10_000.0, form=form, packages=400, package_kg=25.0)

    assert advice.every_nth == nth


@pytest.mark.parametrize(
    ("tonnes", "parts"),
    [(14.999, 1), (15.0, 1), (25.0, 1), (30.0, 1), (30.001, 2), (50.0, 2), (75.0, 3)],
)
@pytest.mark.parametrize(
    ("form", "count", "aggregate"), [("powder", 50, 4.0), ("whole", 100, 10.0)]
)
def test_lots_from_15_tonnes_are_divided_and_each_part_is_sampled(
    tonnes, parts, form, count, aggregate
):
    """Sub-lots of 25 t, which a fifth more may exceed."""
    advice = increments(lot_kg=1000.0 * tonnes, form=form)

    assert (advice.sub_lots, advice.increments, advice.aggregate_kg) == (parts, count, aggregate)


def test_the_frequency_of_a_divided_lot_is_that_of_its_parts():
    """50 t powder in 25 kg bags: each of two parts gives 25 000 times 0.08 over 100 = 20."""
    advice = increments(lot_kg=50_000.0, form="powder", packages=2000, package_kg=25.0)

    assert advice.every_nth == 20
    assert advice.packages_to_open == 100


def test_the_advice_names_the_regulation_and_asks_to_check_it():
    advice = increments(lot_kg=8000.0, form="flakes")

    assert "2023/2782" in advice.source
    assert "part E" in advice.source
    assert "check current law" in advice.source
