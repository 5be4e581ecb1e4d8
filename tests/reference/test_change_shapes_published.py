"""Step, ramp or outlying lots: the Nile, and every model tried one by one.

Volume of the Nile at Aswan, 1871 to 1970 (Cobb, G. W. (1978), Biometrika 65, 243-251), in which a
dam stepped the level down after 1898.  Sums of squares and criteria as printed in the documentation
of Zeileis, A. et al. (2002), Journal of Statistical Software 7(2), from memory; theirs hold the
constant n (1 + log 2 pi) as well.
"""

import itertools
import math

import numpy as np
import pytest

from spc import charts
from spc.errors import InvalidInput, NoSpread, TooFewLots

# fmt: off
NILE = [
    1120, 1160, 963, 1210, 1160, 1160, 813, 1230, 1370, 1140, 995, 935, 1110, 994, 1020, 960, 1180,
    799, 958, 1140, 1100, 1210, 1150, 1250, 1260, 1220, 1030, 1100, 774, 840, 874, 694, 940, 833,
    701, 916, 692, 1020, 1050, 969, 831, 726, 456, 824, 702, 1120, 1100, 832, 764, 821, 768, 845,
    864, 862, 698, 845, 744, 796, 1040, 759, 781, 865, 845, 944, 984, 897, 822, 1010, 771, 676, 649,
    846, 812, 742, 801, 1040, 860, 874, 848, 890, 744, 749, 838, 1050, 918, 986, 797, 923, 975, 815,
    1020, 906, 901, 1170, 912, 746, 919, 718, 714, 740,
]
# fmt: on


def test_the_nile_stepped_and_by_how_much_that_fits_better():
    found = charts.change_shape(NILE)

    assert found.shape == "step"
    assert 1871 + found.models["step"].places[0] == 1899
    constant = 100 * (1.0 + math.log(2.0 * math.pi))
    assert found.models["steady"].criterion + constant == pytest.approx(1318, abs=0.5)
    assert found.models["step"].criterion + constant == pytest.approx(1270, abs=0.5)
    squares = 100 * math.exp((found.models["step"].criterion - 4 * math.log(100)) / 100)
    assert squares == pytest.approx(1_597_457, abs=0.5)


def squares_of(lots, *columns):
    design = np.column_stack((np.ones(lots.size), *columns))
    return float(np.sum((lots - design @ np.linalg.lstsq(design, lots)[0]) ** 2))


@pytest.mark.parametrize("seed", range(4))
def test_every_model_is_the_best_of_its_kind_tried_one_by_one(seed):
    generator = np.random.default_rng(seed)
    lots = 50.0 + generator.normal(size=31) + np.array([0.0, 0.05, 0.0, 0.3])[seed] * np.arange(31)
    lots[7] += 5.0 * (seed == 2)
    index = np.arange(31.0)

    models = charts.change_shape(lots).models

    step = min(squares_of(lots, index >= t) for t in range(2, 30))
    corner = {t: squares_of(lots, np.maximum(index - t, 0.0)) for t in range(29)}
    apart = min(
        (math.log(squares_of(np.delete(lots, gone)) / 31) * 31 + (2 + 2 * k) * math.log(31))
        for k in (1, 2, 3)
        for gone in itertools.combinations(range(31), k)
    )
    ramp = min(score(corner.pop(0), 3), score(min(corner.values()), 4))
    assert models["steady"].criterion == pytest.approx(score(squares_of(lots), 2), rel=1e-9)
    assert models["step"].criterion == pytest.approx(score(step, 4), rel=1e-9)
    assert models["ramp"].criterion == pytest.approx(ramp, rel=1e-9)
    assert models["outliers"].criterion == pytest.approx(apart, rel=1e-9)


def score(squares, free, size=31):
    return size * math.log(squares / size) + free * math.log(size)


STORIES = {
    "step": 3.0 * (np.arange(40) >= 20),
    "ramp": 0.25 * np.maximum(np.arange(40) - 19, 0),
    "outliers": 5.0 * np.isin(np.arange(40), (12, 25)),
}


@pytest.mark.parametrize("story", ["step", "ramp", "outliers"])
def test_a_story_is_hardly_ever_taken_for_another(story):
    """Forty lots, 150 streams of each story; what is undecided is no mistake."""
    generator = np.random.default_rng(3)

    told = [
        charts.change_shape(STORIES[story] + generator.normal(size=40)).shape for _ in range(150)
    ]

    assert told.count(story) >= 130
    assert sum(one not in (story, None) for one in told) <= 8


def test_a_steady_stream_is_seldom_told_as_moved():
    generator = np.random.default_rng(3)

    told = [charts.change_shape(generator.normal(size=40)).shape for _ in range(150)]

    assert sum(one in ("step", "ramp") for one in told) <= 11


def test_lots_turned_upside_down_or_in_another_unit_are_told_alike():
    there, back = charts.change_shape(NILE), charts.change_shape(3.0 - 7.0 * np.array(NILE))

    assert there.shape == back.shape
    assert there.models["ramp"].places == back.models["ramp"].places
    assert back.models["step"].last == pytest.approx(3.0 - 7.0 * there.models["step"].last)


def test_lots_without_a_value_are_passed_over_and_counted():
    gaps = np.insert(np.array(NILE, dtype=float), 5, [math.nan] * 3)

    found = charts.change_shape(gaps)

    assert found.size == 100
    assert found.models["step"].places == (31,)


def test_what_tells_no_shape_is_refused():
    with pytest.raises(TooFewLots):
        charts.change_shape([1.0, 2.0] * 3)
    with pytest.raises(NoSpread):
        charts.change_shape([2.0] * 9)
    with pytest.raises(InvalidInput):
        charts.change_shape([[1.0] * 9])
    with pytest.raises(InvalidInput):
        charts.change_shape([1.0, 2.0] * 5 + [math.inf])
