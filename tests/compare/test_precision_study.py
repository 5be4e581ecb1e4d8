"""Precision studies of any numbers of laboratories and readings."""

import numpy as np
import pytest

from spc.compare.between_methods.level_relations import level_relations
from spc.compare.studies.mandel import critical_h, critical_k, mandel_h, mandel_k
from spc.compare.studies.outlying_pair import critical_pair, outlying_pair
from spc.compare.studies.precision_study import LIMIT_FACTOR, repeatability
from spc.compare.studies.study_cells import LeftOut
from spc.errors import InvalidInput

# Heat of two powders, kSHU, by five laboratories, twice each; the last reads high at one of them.
HEAT = np.array(
    [
        [[35.1, 35.5], [34.2, 34.9], [36.0, 35.2], [35.4, 34.8], [40.9, 41.3]],
        [[1.51, 1.55], [1.44, 1.47], [1.49, 1.58], [1.60, 1.52], [1.55, 1.62]],
    ]
)
NAMES = np.array(["Alder", "Birch", "Cedar", "Elm", "Oak"])


def as_rows(table):
    level, laboratory, _ = (one.ravel() for one in np.indices(table.shape))
    return table.ravel(), NAMES[laboratory], np.array(["cayenne", "mild"])[level]


def test_equal_replicates_give_the_one_way_analysis_of_variance():
    found = repeatability(*as_rows(HEAT))

    means, n, p = HEAT.mean(axis=2), 2, 5
    within = HEAT.var(axis=2, ddof=1).mean(axis=1)
    between = means.var(axis=1, ddof=1) - within / n
    assert (between > 0.0).all()
    assert found.mean == pytest.approx(means.mean(axis=1))
    assert found.repeatability_sd == pytest.approx(np.sqrt(within))
    assert found.between_sd == pytest.approx(np.sqrt(between))
    assert found.reproducibility_sd == pytest.approx(np.sqrt(between + within))
    assert found.repeatability_degrees.tolist() == [p * (n - 1)] * 2
    assert found.levels == ("cayenne", "mild")
    assert found.laboratories == tuple(NAMES.tolist())


def test_limits_are_what_two_readings_differ_by_once_in_twenty():
    found = repeatability(*as_rows(HEAT))

    assert pytest.approx(2.77181, abs=5e-6) == LIMIT_FACTOR
    assert found.repeatability_limit == pytest.approx(2.77181 * found.repeatability_sd, rel=1e-5)
    assert found.reproducibility_limit == pytest.approx(
        2.77181 * found.reproducibility_sd, rel=1e-5
    )


def test_degrees_of_freedom_follow_satterthwaite():
    found = repeatability(*as_rows(HEAT))

    between = 2.0 * HEAT.mean(axis=2).var(axis=1, ddof=1)
    within = HEAT.var(axis=2, ddof=1).mean(axis=1)
    parts = (between / 2.0) ** 2 / 4.0
    reproducibility = (between / 2.0 + within / 2.0) ** 2 / (parts + (within / 2.0) ** 2 / 5.0)
    laboratories = (between / 2.0 - within / 2.0) ** 2 / (parts + (within / 2.0) ** 2 / 5.0)
    assert found.reproducibility_degrees == pytest.approx(reproducibility)
    assert found.between_degrees == pytest.approx(laboratories)


def test_a_laboratory_that_reads_high_is_marked_and_stays_until_somebody_says_why_not():
    found = repeatability(*as_rows(HEAT))
    without = repeatability(
        *as_rows(HEAT), left_out=[LeftOut(laboratory="Oak", level="cayenne", reason="oven broken")]
    )

    marks = [(one.test, one.level, one.laboratories, one.standing) for one in found.suspects]
    assert marks == [("mean", "cayenne", ("Oak",), "outlier")]
    assert found.cells.replicates.sum() == 20
    assert found.h[0, 4] > found.critical_h[0, 0]
    assert (without.suspects, without.cells.replicates.tolist()) == (
        (),
        [[2, 2, 2, 2, 0], [2, 2, 2, 2, 2]],
    )
    assert without.left_out[0].reason == "oven broken"
    assert without.between_sd[0] < 0.2 * found.between_sd[0]
    assert without.repeatability_sd[1] == found.repeatability_sd[1]
    assert np.isnan([without.h[0, 4], without.k[0, 4]]).all()


def test_a_laboratory_can_be_left_out_at_all_levels():
    found = repeatability(*as_rows(HEAT), left_out=[LeftOut(laboratory="Oak", reason="moved")])

    assert found.cells.replicates[:, 4].tolist() == [0, 0]


def test_a_laboratory_that_scatters_shows_in_k_and_in_the_test_of_variances():
    table = HEAT[:, :4].copy()
    table[0, 1] = [31.0, 38.0]

    found = repeatability(*as_rows(table))

    marks = [(one.test, one.laboratories, one.standing) for one in found.suspects]
    assert marks == [("variance", ("Birch",), "outlier")]
    assert found.k[0, 1] > found.critical_k[0, 1, 1]


def test_mandel_compares_means_and_spreads_in_closed_form():
    h = mandel_h([[1.0, 2.0, 6.0, np.nan], [5.0, 5.0, 5.0, 5.0]])
    k = mandel_k([[1.0, 4.0, 4.0, np.nan], [0.0, 0.0, 0.0, 0.0]])

    assert h[0, :3] == pytest.approx(np.array([-2.0, -1.0, 3.0]) / np.sqrt(7.0))
    assert k[0, :3] == pytest.approx(np.sqrt(np.array([1.0, 4.0, 4.0]) / 3.0))
    assert np.isnan(h[0, 3])
    assert np.isnan(h[1]).all()
    assert np.isnan(k[1]).all()


def test_critical_values_of_mandel_are_exceeded_as_often_as_stated():
    generator = np.random.default_rng(6)
    readings = generator.normal(size=(20_000, 6, 3))

    h, k = mandel_h(readings.mean(axis=2)), mandel_k(readings.var(axis=2, ddof=1))

    assert np.mean(np.abs(h) > critical_h(6, 0.05)) == pytest.approx(0.05, abs=0.002)
    assert np.mean(k > critical_k(6, 3, 0.05)) == pytest.approx(0.05, abs=0.002)


def test_two_laboratories_that_read_high_together_are_found_where_one_at_a_time_is_not():
    means = [35.1, 34.9, 35.3, 35.0, 34.8, 35.2, 39.0, 39.1]

    pair = outlying_pair(means, risk=0.01)
    found = repeatability(
        np.repeat(means, 2) + np.tile([-0.1, 0.1], 8), np.repeat(list("ABCDEFGH"), 2)
    )

    assert (pair.positions, pair.side, pair.outlying) == ((6, 7), "largest", True)
    rest = np.var(means[:6]) * 6.0
    assert pair.statistic == pytest.approx(rest / (np.var(means) * 8.0))
    assert [(one.test, one.laboratories) for one in found.suspects] == [
        ("pair of means", ("G", "H"))
    ]


def test_a_pair_that_reads_low_is_the_mirror_of_one_that_reads_high():
    means = np.array([35.1, 34.9, 35.3, 35.0, 34.8, 39.0, 39.2])

    high, low = outlying_pair(means), outlying_pair(-means)

    assert (low.side, set(low.positions)) == ("smallest", set(high.positions))
    assert low.statistic == pytest.approx(high.statistic)


@pytest.mark.parametrize("n", [5, 14])
def test_critical_values_of_a_pair_are_undercut_as_often_as_stated(n):
    """Beyond the printed table too: two-sided 10 %, by a seeded simulation."""
    values = np.sort(np.random.default_rng(9).normal(size=(40_000, n)))
    total = n * values.var(axis=1)

    high, low = ((n - 2) * part.var(axis=1) / total for part in (values[:, :-2], values[:, 2:]))

    critical = critical_pair(n, 0.10)
    assert np.mean(high < critical) + np.mean(low < critical) == pytest.approx(0.10, abs=0.006)


def test_laboratories_that_agree_better_than_their_readings_are_shown_without_a_spread():
    value = [9.0, 11.0, 9.1, 10.9, 8.9, 11.1]

    found = repeatability(value, [1, 1, 2, 2, 3, 3])

    assert found.floored.tolist() == [True]
    assert found.between_sd[0] == 0.0
    assert found.reproducibility_sd[0] == found.repeatability_sd[0]
    assert np.isnan(found.between_degrees[0])


def test_two_laboratories_have_no_h_and_single_readings_no_k():
    found = repeatability([9.0, 9.4, 10.0], [10, 10, 9])

    assert found.laboratories == ("9", "10")
    assert np.isnan(found.critical_h).all()
    assert np.isnan(found.k[0, 0])
    assert found.screening == ()
    assert found.repeatability_sd[0] == pytest.approx(0.4 / 2.0**0.5)


def test_equal_replicates_are_no_spread_though_their_mean_is_rounded():
    found = repeatability([0.7, 0.7, 0.7, 0.9, 0.9, 0.9, 0.8, 0.9, 1.0], np.repeat([1, 2, 3], 3))

    assert found.cells.variance[0, :2].tolist() == [0.0, 0.0]


def test_units_origin_and_order_do_not_matter():
    value, laboratory, level = as_rows(HEAT)
    mixed = np.random.default_rng(2).permutation(value.size)

    plain = repeatability(value, laboratory, level)
    moved = repeatability(1000.0 * value[mixed] + 1e6, laboratory[mixed], level[mixed])

    assert moved.reproducibility_sd == pytest.approx(1000.0 * plain.reproducibility_sd, rel=1e-7)
    assert moved.h == pytest.approx(plain.h, rel=1e-6)
    assert moved.k == pytest.approx(plain.k, rel=1e-5)


def test_a_line_of_standard_deviations_is_found_again_by_all_three_relations():
    level = np.array([2.0, 5.0, 11.0, 30.0])

    line = level_relations(level, 0.3 + 0.04 * level)
    power = level_relations(level, 0.2 * level**0.7)
    share = level_relations(level, 0.05 * level)

    assert (line.intercept, line.slope) == pytest.approx((0.3, 0.04))
    assert (power.coefficient, power.exponent) == pytest.approx((0.2, 0.7))
    assert share.proportional == pytest.approx(0.05)
    assert [one.misfit.argmin() for one in (line, power)] == [1, 2]
    assert share.misfit == pytest.approx(np.zeros(3), abs=1e-9)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"laboratory": [1, 1, 2]}, r"laboratory has shape \(3,\), but there are 4 readings"),
        ({"value": [[1.0], [2.0]]}, "readings have 2 dimensions"),
        ({"laboratory": [1.0, 1.0, np.nan, 2.0]}, "reading 2 has no laboratory"),
        ({"value": [1.0, np.inf, 2.0, 3.0]}, "value inf at position 1"),
        ({"laboratory": [1, 1, 1, 1]}, "fewer than two laboratories"),
        ({"laboratory": [1, 2, 3, 4]}, "no replicates"),
        ({"left_out": [LeftOut(laboratory="3", reason="late")]}, "no laboratory '3'.*1, 2"),
        ({"left_out": [LeftOut(laboratory="1", reason=" ")]}, "without a reason"),
        ({"left_out": [LeftOut(laboratory="1", level="x", reason="late")]}, "no level 'x'"),
        ({"left_out": [LeftOut(laboratory="1", reason="late")]}, "fewer than two laboratories"),
    ],
)
def test_studies_that_say_nothing_of_precision_are_refused_in_a_sentence(change, sentence):
    given = {"value": [1.0, 2.0, 2.0, 4.0], "laboratory": [1, 1, 2, 2]} | change

    with pytest.raises(InvalidInput, match=sentence):
        repeatability(**given)


@pytest.mark.parametrize(
    ("wrong", "sentence"),
    [
        (lambda: critical_h(2, 0.05), "2 laboratories or replicates"),
        (lambda: critical_k(5, 1, 0.05), "1 laboratories or replicates"),
        (lambda: critical_k(5, 2, 1.0), "risk 1 is not between"),
        (lambda: outlying_pair([1.0, 2.0, 3.0]), "at least 4"),
        (lambda: level_relations([1.0, 2.0], [0.1, 0.2]), "2 levels"),
        (lambda: level_relations([1.0, 2.0, 3.0], [0.1, 0.0, 0.2]), "not above zero"),
        (lambda: level_relations([1.0, 1.1, 9.0], [0.3, 1e-4, 2e-4]), "no straight line"),
    ],
)
def test_statistics_asked_of_too_little_are_refused_in_a_sentence(wrong, sentence):
    with pytest.raises(InvalidInput, match=sentence):
        wrong()
