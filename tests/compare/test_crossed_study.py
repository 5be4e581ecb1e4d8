"""Studies where every operator measures every sample, or each has samples of his own."""

import numpy as np
import pytest
from scipy import stats

from spc.compare.spread.mean_square_intervals import MeanSquare, difference_interval, sum_interval
from spc.compare.studies.crossed_study import PARTS, crossed_study
from spc.compare.studies.method_figures import method_figures
from spc.compare.studies.nested_study import nested_study
from spc.compare.studies.precision_study import repeatability
from spc.errors import InvalidInput


def readings(generator, shape, *, sample=2.0, operator=0.6, interaction=0.3, repeat=1.0):
    """Readings of samples by operators, in an array of that shape."""
    p, o, r = shape
    table = sample * generator.normal(size=(p, 1, 1)) + operator * generator.normal(size=(1, o, 1))
    table = table + interaction * generator.normal(size=(p, o, 1))
    return table + repeat * generator.normal(size=(p, o, r))


def as_rows(table):
    sample, operator, _ = (one.ravel() for one in np.indices(table.shape))
    return table.ravel(), sample, operator


TABLE = 50.0 + readings(np.random.default_rng(3), (8, 3, 2), interaction=1.2)


def test_components_reproduce_the_mean_squares_they_are_expected_to_have():
    """E(MS) of the two-way layout with interaction, Searle, Casella & McCulloch 1992, 4.3."""
    found = crossed_study(*as_rows(TABLE))

    p, o, r = TABLE.shape
    samples = o * r * TABLE.mean(axis=(1, 2)).var(ddof=1)
    operators = p * r * TABLE.mean(axis=(0, 2)).var(ddof=1)
    within = TABLE.var(axis=2, ddof=1).mean()
    cells = TABLE.mean(axis=2)
    left = cells - cells.mean(axis=1, keepdims=True) - cells.mean(axis=0) + cells.mean()
    interaction = r * (left**2).sum() / ((p - 1) * (o - 1))
    assert found.mean_squares == pytest.approx([samples, operators, interaction, within])
    assert found.degrees.tolist() == [7, 2, 14, 24]
    s, op, i, e = found.variance[:4]
    assert not found.floored.any()
    assert e + r * i + o * r * s == pytest.approx(samples)
    assert e + r * i + p * r * op == pytest.approx(operators)
    assert e + r * i == pytest.approx(interaction)


def test_the_parts_add_up_to_reproducibility_and_to_all():
    found = crossed_study(*as_rows(TABLE))
    by_name = dict(zip(PARTS, found.variance, strict=True))

    assert by_name["reproducibility"] == pytest.approx(
        by_name["operator"] + by_name["interaction"] + by_name["repeatability"]
    )
    assert by_name["total"] == pytest.approx(by_name["sample"] + by_name["reproducibility"])
    assert found.share[:4].sum() == pytest.approx(1.0)
    assert found.sd == pytest.approx(np.sqrt(found.variance))


def test_the_interval_of_repeatability_is_the_exact_chi_squared_one():
    found = crossed_study(*as_rows(TABLE), confidence=0.9)

    squares = 24 * found.variance[3]
    assert found.interval_low[3] == pytest.approx(squares / stats.chi2.ppf(0.95, 24))
    assert found.interval_high[3] == pytest.approx(squares / stats.chi2.ppf(0.05, 24))


@pytest.mark.parametrize(("one", "other"), [(3, 12), (9, 2)])
def test_a_difference_touches_zero_where_the_f_test_is_on_its_limit(one, other):
    second = MeanSquare(value=2.0, degrees=other)

    at_limit = [
        difference_interval(
            MeanSquare(value=2.0 * stats.f.ppf(chance, one, other), degrees=one),
            second,
            confidence=0.95,
        )
        for chance in (0.975, 0.025)
    ]

    assert at_limit[0][0] == pytest.approx(0.0, abs=1e-9)
    assert at_limit[1][1] == pytest.approx(0.0, abs=1e-9)


def test_a_difference_from_nearly_nothing_is_a_single_mean_square():
    first = MeanSquare(value=5.0, degrees=6)

    alone = sum_interval(first, confidence=0.95)
    beside = difference_interval(first, MeanSquare(value=1e-12, degrees=40), confidence=0.95)

    assert beside == pytest.approx(alone, rel=1e-9)
    assert alone == pytest.approx(
        (30.0 / stats.chi2.ppf(0.975, 6), 30.0 / stats.chi2.ppf(0.025, 6))
    )


def test_stated_intervals_hold_the_truth_about_as_often_as_they_say():
    generator = np.random.default_rng(12)
    truth = np.array([4.0, 0.36, 0.09, 1.0, 1.45, 5.45])
    held = np.zeros(6)

    for _ in range(200):
        found = crossed_study(*as_rows(readings(generator, (8, 4, 2))))
        held += (found.interval_low <= truth) & (truth <= found.interval_high)

    assert np.all(held >= 182)
    assert np.all(held <= 199)


def test_an_interaction_below_zero_is_shown_as_zero_and_the_interval_still_holds_the_sums():
    table = readings(np.random.default_rng(5), (6, 2, 3), interaction=0.0)
    table[:, :, 0] += np.array([0.6, -0.6])
    table[:, :, 1] -= np.array([0.6, -0.6])

    found = crossed_study(*as_rows(table))

    assert found.floored.tolist()[2] is True
    assert (found.variance[2], found.interval_low[2]) == (0.0, 0.0)
    assert (found.interval_low <= found.variance).all()
    assert (found.variance <= found.interval_high).all()


def test_units_origin_order_and_names_do_not_matter():
    value, sample, operator = as_rows(TABLE)
    mixed = np.random.default_rng(2).permutation(value.size)
    names = np.array(["Ash", "Beech", "Fir"])

    plain = crossed_study(value, sample, operator)
    moved = crossed_study(10.0 * value[mixed] - 7.0, sample[mixed], names[operator][mixed])

    assert moved.operators == ("Ash", "Beech", "Fir")
    assert moved.sd == pytest.approx(10.0 * plain.sd)
    assert moved.interval_high == pytest.approx(100.0 * plain.interval_high)


def test_a_study_with_a_missing_reading_is_refused_by_the_cell():
    value, sample, operator = as_rows(TABLE)

    with pytest.raises(InvalidInput, match="operator 2 has 1 readings of sample 7"):
        crossed_study(value[:-1], sample[:-1], operator[:-1])


@pytest.mark.parametrize(
    ("value", "sample", "operator", "sentence"),
    [
        ([1.0, 2.0], [1, 2], [1], "operator has shape"),
        ([[1.0], [2.0]], [1, 2], [1, 2], "readings have 2 dimensions"),
        ([1.0, np.nan, 2.0, 3.0], [1, 1, 2, 2], [1, 2, 1, 2], "value nan at position 1"),
        ([1.0, 2.0, 2.0, 3.0], [1, 1, 2, 2], [1, 1, 1, 1], "2 samples by 1 operators"),
        ([1.0, 2.0, 2.0, 3.0], [1, 1, 2, 2], [1, 2, 1, 2], "1 readings of sample 1"),
        (np.repeat([1.0, 2.0, 2.0, 4.0], 2), np.repeat([1, 1, 2, 2], 2), np.repeat([1, 2, 1, 2], 2),
         "are all equal"),
    ],
)  # fmt: skip
def test_studies_that_show_no_precision_are_refused_in_a_sentence(
    value, sample, operator, sentence
):
    with pytest.raises(InvalidInput, match=sentence):
        crossed_study(value, sample, operator)


def test_operators_with_samples_of_their_own_are_told_from_their_samples():
    """Equal numbers: the mean squares of the nested analysis of variance in closed form."""
    generator = np.random.default_rng(14)
    table = 3.0 * generator.normal(size=(5, 1, 1)) + generator.normal(size=(5, 4, 1))
    table = table + 0.5 * generator.normal(size=(5, 4, 3))
    operator, sample, _ = (one.ravel() for one in np.indices(table.shape))

    found = nested_study(table.ravel(), operator, sample)

    within = table.var(axis=2, ddof=1).mean()
    samples = 3.0 * table.mean(axis=2).var(axis=1, ddof=1).mean()
    operators = 12.0 * table.mean(axis=(1, 2)).var(ddof=1)
    between = (operators - samples) / 12.0
    assert found.repeatability_sd == pytest.approx(within**0.5, rel=1e-6)
    assert found.between_sd == pytest.approx(between**0.5, rel=1e-6)
    assert found.reproducibility_sd == pytest.approx((between + within) ** 0.5, rel=1e-6)
    assert found.repeatability_degrees == pytest.approx(40.0, rel=1e-6)
    assert found.between_degrees == pytest.approx(
        (operators - samples) ** 2 / (operators**2 / 4.0 + samples**2 / 15.0), rel=1e-6
    )
    assert found.operators == 5


def test_one_sample_an_operator_cannot_tell_operators_from_samples():
    with pytest.raises(InvalidInput, match="every operator has one sample"):
        nested_study([1.0, 1.2, 3.0, 3.1, 2.0, 2.2], np.repeat([1, 2, 3], 2), np.zeros(6))


def heat_study(level=(1.0, 10.0)):
    """Two levels with spreads in proportion; five laboratories, three readings each."""
    generator = np.random.default_rng(17)
    table = np.array(level)[:, None, None] * np.exp(
        0.08 * generator.normal(size=(5, 1)) + 0.03 * generator.normal(size=(2, 5, 3))
    )
    at, laboratory, _ = (one.ravel() for one in np.indices(table.shape))
    return repeatability(table.ravel(), laboratory, at)


def test_a_study_becomes_a_method_s_figures_as_shares_of_the_level():
    study = heat_study()

    found = method_figures(study, kind="share")

    within = study.repeatability_sd / study.mean
    assert found.relative
    assert found.repeatability == pytest.approx(np.sqrt((within**2).mean()))
    assert found.repeatability_degrees == 20.0
    assert found.standard_uncertainty == pytest.approx(
        np.sqrt(((study.between_sd / study.mean) ** 2).mean())
    )
    assert found.uncertainty_degrees == study.between_degrees.min() < 4.0
    assert found.levels == 2


def test_the_unit_of_the_readings_scales_figures_in_it_and_leaves_shares():
    study, thousandfold = heat_study(), heat_study(level=(1000.0, 10_000.0))

    unit = [method_figures(one, kind="unit") for one in (study, thousandfold)]
    share = [method_figures(one, kind="share") for one in (study, thousandfold)]

    assert not unit[0].relative
    assert unit[1].repeatability == pytest.approx(1000.0 * unit[0].repeatability)
    assert unit[1].standard_uncertainty == pytest.approx(1000.0 * unit[0].standard_uncertainty)
    assert share[1].standard_uncertainty == pytest.approx(share[0].standard_uncertainty)


def test_a_crossed_study_of_logarithms_gives_shares_and_leaves_the_interaction_to_the_lots():
    study = crossed_study(*as_rows(TABLE))

    found = method_figures(study, kind="logarithm")

    operators, interaction = study.mean_squares[1:3]
    assert found.relative
    assert (found.repeatability, found.standard_uncertainty) == (study.sd[3], study.sd[1])
    assert found.repeatability_degrees == 24.0
    assert found.uncertainty_degrees == pytest.approx(
        (operators - interaction) ** 2 / (operators**2 / 2.0 + interaction**2 / 14.0)
    )


def test_a_nested_study_gives_its_figures_too():
    generator = np.random.default_rng(14)
    operator, sample, _ = (one.ravel() for one in np.indices((5, 3, 2)))
    value = generator.normal(size=5)[operator] + 0.2 * generator.normal(size=30)
    study = nested_study(20.0 + value + generator.normal(size=(5, 3))[operator, sample], operator,
                         sample)  # fmt: skip

    found = method_figures(study, kind="share")

    assert found.repeatability == pytest.approx(study.repeatability_sd / study.mean)
    assert found.standard_uncertainty == pytest.approx(study.between_sd / study.mean)
    assert found.uncertainty_degrees == study.between_degrees


def test_operators_that_agree_leave_a_zero_with_the_degrees_of_their_number():
    table = readings(np.random.default_rng(21), (10, 3, 2), operator=0.0)
    table -= table.mean(axis=(0, 2), keepdims=True)

    found = method_figures(crossed_study(*as_rows(table)), kind="unit")

    assert (found.standard_uncertainty, found.uncertainty_degrees) == (0.0, 2.0)


def test_shares_of_a_level_at_or_below_zero_are_refused():
    study = crossed_study(*as_rows(TABLE - 60.0))

    with pytest.raises(InvalidInput, match="has no share"):
        method_figures(study, kind="share")
    with pytest.raises(InvalidInput, match="figures cannot be given as 'percent'"):
        method_figures(study, kind="percent")  # type: ignore[arg-type]
