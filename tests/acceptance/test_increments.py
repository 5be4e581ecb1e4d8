"""How many increments, from which packages, by which convention."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.acceptance import VariablesPlan, bulk_plan, chosen_packages, increments
from spc.errors import InvalidInput

BULK = bulk_plan(
    between_increments=0.12,
    between_portions=0.05,
    measurement=0.03,
    cost_increment=2.0,
    cost_test=40.0,
    accepted_mean=0.10,
    rejected_mean=0.0,
)


@given(tonnes=st.floats(0.001, 500.0), form=st.sampled_from(["whole", "flakes", "powder"]))
def test_sub_lots_are_of_about_25_tonnes_and_never_of_more_than_30(tonnes, form):
    advice = increments(lot_kg=1000.0 * tonnes, form=form)

    assert tonnes / advice.sub_lots <= 30.0 + 1e-9
    assert advice.sub_lots == 1 or tonnes / (advice.sub_lots - 1) > 30.0
    assert advice.increment_kg is not None
    assert advice.aggregate_kg is not None
    # The table rounds: three increments of 80 g make 0.2 kg there.
    assert advice.aggregate_kg >= 0.8 * advice.increments * advice.increment_kg


@given(tonnes=st.floats(0.001, 14.9), more=st.floats(1.0, 5.0))
def test_a_larger_lot_never_asks_for_fewer_increments(tonnes, more):
    small = increments(lot_kg=1000.0 * tonnes)
    large = increments(lot_kg=1000.0 * tonnes * more)

    assert large.increments >= small.increments


def test_a_lot_of_few_packages_is_opened_whole():
    advice = increments(lot_kg=200.0, packages=8, package_kg=25.0)

    assert (advice.increments, advice.packages_to_open, advice.every_nth) == (10, 8, 1)


def test_a_lot_whose_packing_is_not_known_has_no_frequency():
    advice = increments(lot_kg=200.0)

    assert advice.every_nth is None
    assert advice.packages_to_open is None


@pytest.mark.parametrize(
    ("packages", "routine", "arbitration"),
    [(1, 1, 1), (2, 2, 2), (25, 5, 5), (26, 6, 6), (100, 10, 10), (400, 10, 20), (401, 10, 21)],
)
def test_the_square_root_is_capped_in_routine_and_not_in_arbitration(
    packages, routine, arbitration
):
    lot = {"lot_kg": 25.0 * packages, "packages": packages, "package_kg": 25.0}

    usual = increments(**lot, convention="square root")
    disputed = increments(**lot, convention="square root, arbitration")

    assert usual.increments == usual.packages_to_open == routine
    assert disputed.increments == arbitration
    assert disputed.every_nth == packages // arbitration
    assert "no stated risk" in usual.cannot_tell


def test_a_variables_plan_opens_a_package_for_each_of_its_units():
    advice = increments(
        lot_kg=1000.0, packages=40, convention="variables plan", plan=VariablesPlan(n=10, k=1.72)
    )
    loose = increments(lot_kg=1000.0, convention="variables plan", plan=VariablesPlan(n=10, k=1.72))

    assert (advice.increments, advice.every_nth, advice.packages_to_open) == (10, 4, 10)
    assert loose.every_nth is None
    assert "n = 10, k = 1.72" in advice.source


def test_a_bulk_plan_draws_its_increments_from_as_many_packages_as_there_are():
    many = increments(lot_kg=4000.0, packages=160, convention="bulk plan", plan=BULK)
    few = increments(lot_kg=500.0, packages=20, convention="bulk plan", plan=BULK)
    loose = increments(lot_kg=500.0, convention="bulk plan", plan=BULK)

    assert many.increments == many.packages_to_open == BULK.increments
    assert (few.packages_to_open, few.every_nth) == (20, 1)
    assert loose.every_nth is None
    assert "mixed" in many.cannot_tell


@pytest.mark.parametrize("convention", ["EU mycotoxins", "square root", "square root, arbitration"])
def test_every_convention_says_what_it_can_and_cannot_tell_and_where_it_is_from(convention):
    advice = increments(lot_kg=1000.0, packages=40, package_kg=25.0, convention=convention)

    assert advice.convention == convention
    assert all((advice.can_tell, advice.cannot_tell, advice.source))


@given(packages=st.integers(1, 400), seed=st.integers(0, 2**32), data=st.data())
def test_chosen_packages_are_different_exist_and_can_be_chosen_again(packages, seed, data):
    count = data.draw(st.integers(1, packages))

    chosen = chosen_packages(packages, count, generator=np.random.default_rng(seed))

    again = chosen_packages(packages, count, generator=np.random.default_rng(seed))
    assert np.array_equal(chosen, again)
    assert chosen.size == count
    assert np.all(np.diff(chosen) > 0)
    assert chosen[0] >= 1
    assert chosen[-1] <= packages


def test_every_package_is_as_likely_as_every_other():
    """Twenty thousand choices of 3 out of 12; four standard errors of a quarter."""
    generator = np.random.default_rng(24153)

    counts = np.zeros(13)
    for _ in range(20_000):
        counts[chosen_packages(12, 3, generator=generator)] += 1

    assert counts[1:] / 20_000 == pytest.approx(0.25, abs=4.0 * (0.25 * 0.75 / 20_000) ** 0.5)


class TestRefusals:
    @pytest.mark.parametrize(
        "lot",
        [
            {"lot_kg": 0.0},
            {"lot_kg": float("nan")},
            {"lot_kg": 100.0, "packages": 0},
            {"lot_kg": 100.0, "package_kg": -25.0},
        ],
    )
    def test_a_lot_that_is_not_possible(self, lot):
        with pytest.raises(InvalidInput, match="is not possible"):
            increments(**lot)

    def test_packages_that_do_not_make_the_lot(self):
        with pytest.raises(
            InvalidInput, match=r"40 packages of 25 kg are 1000 kg, but the lot is 8000"
        ):
            increments(lot_kg=8000.0, packages=40, package_kg=25.0)

    def test_a_form_without_a_table(self):
        with pytest.raises(InvalidInput, match="'mash' has no table"):
            increments(lot_kg=100.0, form="mash")  # type: ignore[arg-type]

    def test_the_square_root_of_an_unknown_number(self):
        with pytest.raises(InvalidInput, match="unknown number of packages"):
            increments(lot_kg=100.0, convention="square root")

    @pytest.mark.parametrize("convention", ["variables plan", "bulk plan", "rule of thumb"])
    def test_a_convention_without_its_plan(self, convention):
        with pytest.raises(InvalidInput, match="with NoneType is not possible"):
            increments(lot_kg=100.0, convention=convention)

    def test_a_plan_that_measures_more_packages_than_there_are(self):
        plan = VariablesPlan(n=50, k=1.93)
        with pytest.raises(InvalidInput, match="measures 50 packages, but the lot has 40"):
            increments(lot_kg=1000.0, packages=40, convention="variables plan", plan=plan)

    @pytest.mark.parametrize("count", [0, 13])
    def test_more_packages_than_there_are(self, count):
        with pytest.raises(InvalidInput, match="of 12 packages cannot be chosen"):
            chosen_packages(12, count, generator=np.random.default_rng(1))
