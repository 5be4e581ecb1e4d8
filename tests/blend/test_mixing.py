"""Kilograms add: what a lot brings to a blend, on the basis and in the unit that is asked."""

import math

import numpy as np
import pytest

from spc.blend.problem.mixing import mixing
from spc.blend.problem.stock import Assay, StockLot, mixing_assay
from spc.blend.problem.target import Window
from spc.errors import InvalidInput, UnknownUnit


def assay(value, u=0.0, unit="SHU", **more):
    return Assay(value=value, standard_uncertainty=u, unit=unit, method="oven", **more)


def lot(code, heat, moisture=None):
    water = {} if moisture is None else {"moisture": moisture}
    return StockLot(
        code=code,
        material="cayenne powder",
        supplier="Alder",
        origin="here",
        price_per_kg=1.0,
        available_kg=100.0,
        assays={"heat": heat} | water,
    )


def water(value, u=0.0):
    return assay(value, u, unit="g/100 g")


AS_IS = Window(characteristic="heat", unit="SHU", lower=0.0, upper=1e6)
DRY = Window(characteristic="heat", unit="SHU", lower=0.0, upper=1e6, basis="dry")


def test_a_dry_window_weighs_each_lot_with_its_solids():
    """60 kg of 40 000 as-is at 10 % water and 40 kg of 90 000 dry at 20 %: heat over solids."""
    lots = [
        lot("A", assay(40_000.0), water(10.0)),
        lot("B", assay(90_000.0, basis="dry"), water(20.0)),
    ]
    kilograms = np.array([60.0, 40.0])
    heat = 60.0 * 40_000.0 + 40.0 * 0.8 * 90_000.0

    assert mixing(lots, DRY, weighing=0.0).mean(kilograms) == pytest.approx(
        heat / (60.0 * 0.9 + 40.0 * 0.8)
    )
    assert mixing(lots, AS_IS, weighing=0.0).mean(kilograms) == pytest.approx(heat / 100.0)


def test_a_value_is_brought_to_the_unit_of_the_window():
    window = Window(characteristic="heat", unit="mg/kg", lower=0.0)

    made = mixing([lot("A", assay(0.3, 0.01, unit="g/100 g"))], window, weighing=0.0)

    assert made.value == pytest.approx([3_000.0])
    assert made.own == pytest.approx([100.0])


def test_what_moisture_does_not_say_exactly_widens_a_value_that_is_converted():
    """10.0 ± 0.9 g/100 g is 1 % of the solids; a value on its own basis is left alone."""
    wet = lot("A", assay(40_000.0, 300.0), water(10.0, 0.9))

    assert mixing([wet], DRY, weighing=0.0).own == pytest.approx([math.hypot(300.0, 400.0) / 0.9])
    assert mixing([wet], AS_IS, weighing=0.0).own == pytest.approx([300.0])


def test_moisture_as_a_weight_hardly_moves_a_blend():
    """Drawn blends on dry basis, solids and all, are as wide as said, to two per cent."""
    lots = [
        lot("A", assay(30_000.0, 1_500.0, basis="dry"), water(9.0, 0.3)),
        lot("B", assay(60_000.0, 3_000.0, basis="dry"), water(12.0, 0.3)),
    ]
    made, random = mixing(lots, DRY, weighing=0.0), np.random.default_rng(9)
    kilograms, draws = np.array([50.0, 50.0]), 40_000
    solids = kilograms * (1.0 - random.normal([0.09, 0.12], 0.003, (draws, 2)))
    blends = (solids * random.normal(made.value, made.own, (draws, 2))).sum(axis=1)

    assert (blends / solids.sum(axis=1)).std() == pytest.approx(made.deviation(kilograms), rel=0.02)


def test_each_method_shares_its_bias_and_lots_of_different_methods_do_not():
    lots = [
        lot("A", Assay(value=4e4, standard_uncertainty=0.0, unit="SHU", method=method,
                       shared_uncertainty=2e3))
        for method in ("sensor", "sensor", "liquid chromatography")
    ]  # fmt: skip
    deviation = mixing(lots, AS_IS, weighing=0.0).deviation

    assert deviation(np.array([50.0, 50.0, 0.0])) == pytest.approx(2_000.0)
    assert deviation(np.array([50.0, 0.0, 50.0])) == pytest.approx(2_000.0 / math.sqrt(2.0))


def test_weighing_moves_a_blend_by_how_far_its_lots_lie_from_it():
    window = Window(characteristic="heat", unit="SHU", lower=3e4, upper=5e4)
    lots = [lot("A", assay(2e4)), lot("B", assay(6e4))]

    assert mixing(lots, window, weighing=0.01).deviation(np.array([50.0, 50.0])) == pytest.approx(
        math.sqrt(2.0) * 0.5 * 0.01 * 2e4
    )


def test_a_geometric_mean_is_lifted_to_the_mean_that_mixing_needs():
    """Portions of a lot, lognormal with a spread of 0.3: their mass-weighted mean, simulated."""
    portions = np.random.default_rng(3).lognormal(math.log(4e4), 0.3, 200_000)

    lifted = mixing_assay(assay(4e4, 1e3), within_sigma=0.3)

    assert lifted.value == pytest.approx(portions.mean(), rel=3e-3)
    assert lifted.standard_uncertainty / lifted.value == pytest.approx(1e3 / 4e4)
    with pytest.raises(InvalidInput, match="spread within the lot of -1"):
        mixing_assay(assay(4e4), within_sigma=-1.0)


class TestRefusals:
    def test_two_bases_without_a_moisture_to_convert_with(self):
        with pytest.raises(InvalidInput, match="lot B, heat: the blend mixes as-is and dry"):
            mixing([lot("B", assay(4e4, basis="dry"))], AS_IS, weighing=0.0)

    def test_moisture_that_is_itself_dry(self):
        odd = lot("B", assay(4e4, basis="dry"), assay(10.0, unit="g/100 g", basis="dry"))

        with pytest.raises(InvalidInput, match="moisture in g/100 g dry cannot be used"):
            mixing([odd], AS_IS, weighing=0.0)

    def test_a_unit_of_something_else(self):
        with pytest.raises(UnknownUnit, match=r"lot A, heat: unit 'mg/kg' cannot be used"):
            mixing([lot("A", assay(2e3, unit="mg/kg"))], AS_IS, weighing=0.0)

    def test_lots_without_a_result_are_named_and_counted(self):
        colour = Window(characteristic="colour", unit="ASTA units", lower=50.0)
        lots = [lot(code, assay(4e4)) for code in "ABCDE"]

        with pytest.raises(InvalidInput, match="lots A, B, C and 2 more have no result for colour"):
            mixing(lots, colour, weighing=0.0)
