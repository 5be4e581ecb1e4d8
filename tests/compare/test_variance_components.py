"""Variance components of nested readings, however unequal the groups."""

import numpy as np
import pytest
from scipy import optimize

from spc.compare.spread import nested_reml
from spc.compare.spread.variance_components import components
from spc.errors import InvalidInput


def unbalanced(seed=5, lots=7):
    """Readings of lots with 1 to 4 samples of 1 to 3 readings by either of two methods."""
    generator = np.random.default_rng(seed)
    rows = [
        (one, bag)
        for one in range(lots)
        for bag in range(generator.integers(1, 5))
        for _ in range(generator.integers(1, 4))
    ]
    lot, sample = np.array(rows).T
    method = generator.integers(0, 2, lot.size)
    value = 40.0 + 3.0 * generator.normal(size=lots)[lot] + 1.5 * method
    value += 2.0 * generator.normal(size=(lots, 4))[lot, sample]
    return value + generator.normal(size=lot.size), lot, sample, method


def slow_log_likelihood(variance, value, lot, sample, fixed):
    """Restricted log-likelihood from whole matrices, as the textbooks write it."""
    same_lot = lot[:, None] == lot
    same_sample = same_lot & (sample[:, None] == sample)
    v = variance[0] * same_lot + variance[1] * same_sample + variance[2] * np.eye(value.size)
    inverse = np.linalg.inv(v)
    information = fixed.T @ inverse @ fixed
    effects = np.linalg.solve(information, fixed.T @ inverse @ value)
    off = value - fixed @ effects
    dets = np.linalg.slogdet(v)[1] + np.linalg.slogdet(information)[1]
    freedom = value.size - fixed.shape[1]
    log_likelihood = -0.5 * (dets + off @ inverse @ off + freedom * np.log(2.0 * np.pi))
    return log_likelihood, effects, np.linalg.inv(information)


@pytest.mark.parametrize("with_method", [False, True])
def test_the_estimates_are_the_top_of_the_textbook_likelihood(with_method):
    value, lot, sample, method = unbalanced()
    fixed = np.column_stack([np.ones(value.size), method] if with_method else [np.ones(value.size)])

    found = components(value, {"lot": lot, "sample": sample}, fixed=method if with_method else None)

    best, effects, covariance = slow_log_likelihood(found.variance, value, lot, sample, fixed)
    assert found.log_likelihood == pytest.approx(best, abs=1e-9)
    assert found.mean == pytest.approx(effects[0], rel=1e-12)
    assert found.mean_uncertainty == pytest.approx(covariance[0, 0] ** 0.5, rel=1e-10)
    for step in np.vstack((np.eye(3), -np.eye(3))) * 1e-3:
        near, *_ = slow_log_likelihood(found.variance * (1.0 + step), value, lot, sample, fixed)
        assert near < best
    if with_method:
        assert found.codes == ("0", "1")
        assert found.contrast == pytest.approx([0.0, effects[1]], rel=1e-9)
        assert found.contrast_uncertainty[1] == pytest.approx(covariance[1, 1] ** 0.5, rel=1e-9)


@pytest.mark.parametrize("component", [0, 1, 2])
def test_an_interval_ends_where_the_best_of_the_others_is_refuted(component):
    """Chi-squared of one degree at 95 % is 3.841: the log-likelihood has fallen by half of it."""
    value, lot, sample, _ = unbalanced()
    ones = np.ones((value.size, 1))
    found = components(value, {"lot": lot, "sample": sample})
    others = np.delete(np.arange(3), component)

    for end in (found.interval_low[component], found.interval_high[component]):

        def fallen(logs, end=end):
            variance = np.full(3, end)
            variance[others] = np.exp(logs)
            lower, *_ = slow_log_likelihood(variance, value, lot, sample, ones)
            return found.log_likelihood - lower

        least = optimize.minimize(fallen, np.log(found.variance[others]), method="Nelder-Mead")

        assert end > 0.0
        assert least.fun == pytest.approx(3.841459 / 2.0, abs=1e-4)


def test_without_levels_the_interval_is_that_of_one_variance():
    """Closed form: with nu degrees, nu (x - 1 - ln x) = 3.841 at x = s² / sigma²."""
    value = np.random.default_rng(3).normal(100.0, 4.0, size=9)

    found = components(value, {})

    square = value.var(ddof=1)
    assert found.variance == pytest.approx([square], rel=1e-9)
    assert found.mean_uncertainty == pytest.approx(value.std(ddof=1) / 3.0, rel=1e-9)
    for end in (found.interval_low[0], found.interval_high[0]):
        x = square / end
        assert 8.0 * (x - 1.0 - np.log(x)) == pytest.approx(3.841459, abs=1e-4)


@pytest.mark.thorough
def test_stated_intervals_hold_the_truth_about_as_often_as_they_say():
    generator = np.random.default_rng(20)
    lot = np.repeat(np.arange(6), 6)
    sample = np.tile(np.repeat(np.arange(3), 2), 6)
    truth = np.array([1.0, 0.5, 0.25])
    held = np.zeros(3)

    for _ in range(40):
        value = generator.normal(size=6)[lot] + 0.5 * generator.normal(size=36)
        value += 0.5**0.5 * generator.normal(size=(6, 3))[lot, sample]
        found = components(value, {"lot": lot, "sample": sample})
        held += (found.interval_low <= truth) & (truth <= found.interval_high)

    assert np.all(held >= 34)


def test_units_origin_order_and_names_of_groups_do_not_matter():
    value, lot, sample, _ = unbalanced()
    mixed = np.random.default_rng(1).permutation(value.size)
    names = np.array([f"S26-{one}" for one in 9 - lot])

    plain = components(value, {"lot": lot, "sample": sample})
    moved = components(
        16.0 * value[mixed] - 5e5, {"lot": names[mixed], "sample": 7 * sample[mixed]}
    )

    assert moved.sd == pytest.approx(16.0 * plain.sd, rel=1e-6)
    assert moved.interval_high == pytest.approx(256.0 * plain.interval_high, rel=1e-5)
    assert moved.mean == pytest.approx(16.0 * plain.mean - 5e5, rel=1e-12)
    assert moved.share == pytest.approx(plain.share, rel=1e-6)
    assert plain.share.sum() == pytest.approx(1.0)


def test_any_number_of_levels_counts_its_groups_and_degrees_of_freedom():
    generator = np.random.default_rng(2)
    supplier, year, lot, sample = (
        one.ravel() for one in np.meshgrid(range(4), range(3), range(5), [0, 0, 1, 1, 1])
    )
    value = generator.normal(size=4)[supplier] + generator.normal(size=supplier.size)

    found = components(
        value, {"supplier": supplier, "crop year": year, "lot": lot, "sample": sample}
    )

    assert found.names == ("supplier", "crop year", "lot", "sample", "replicate")
    assert found.groups.tolist() == [4, 12, 60, 120, 300]
    assert found.degrees.tolist() == [3, 8, 48, 60, 180]
    assert found.effective_degrees[-1] >= 180.0 - 1e-6


def test_lots_that_differ_less_than_their_readings_get_zero_and_an_upper_limit():
    lot = np.repeat(np.arange(4), 5)
    value = np.tile([9.0, 10.0, 11.0, 12.0, 13.0], 4) + 0.01 * lot

    found = components(value, {"lot": lot})

    assert found.at_zero.tolist() == [True, False]
    assert (found.variance[0], found.interval_low[0]) == (0.0, 0.0)
    assert 0.0 < found.interval_high[0] < found.variance[1]
    assert np.isnan(found.effective_degrees[0])
    assert found.variance[1] == pytest.approx(value.var(ddof=1), rel=1e-9)


def test_one_reading_a_sample_leaves_samples_and_replicates_in_one_sum():
    value, lot, sample, _ = unbalanced(lots=9)
    first = np.unique(10 * lot + sample, return_index=True)[1]

    found = components(value[first], {"lot": lot[first], "sample": sample[first]})

    assert found.reasons == (
        "",
        "what tells one sample from another cannot be told from replicate, which holds both",
        "",
    )
    assert np.isnan(found.variance[1])
    assert found.degrees[1] == 0
    assert found.share[0] + found.share[2] == pytest.approx(1.0)
    with pytest.raises(InvalidInput, match="nothing can be said of sample"):
        found.sd_of("sample")


def test_one_sample_a_lot_leaves_both_in_the_lots():
    lot = np.repeat(np.arange(5), 3)
    value = 2.0 * lot + np.tile([0.0, 0.5, 1.0], 5)

    both = components(value, {"lot": lot, "sample": lot % 2})

    assert both.reasons == ("", "every lot has one sample, and lot holds both", "")
    assert both.sd_of("lot") == pytest.approx(components(value, {"lot": lot}).sd_of("lot"))


def test_one_supplier_cannot_be_told_from_the_mean():
    value, lot, sample, _ = unbalanced()

    found = components(value, {"supplier": np.zeros(lot.size), "lot": lot, "sample": sample})

    assert found.reasons[0] == "there is only one supplier"
    assert found.sd_of("lot") == pytest.approx(
        components(value, {"lot": lot, "sample": sample}).sd_of("lot"), rel=1e-7
    )


def test_a_method_for_each_supplier_takes_the_suppliers_with_it():
    supplier = np.repeat([0, 1], 8)
    lot = np.repeat(np.arange(8), 2)
    value = np.random.default_rng(1).normal(size=16) + lot % 4

    found = components(value, {"supplier": supplier, "lot": lot}, fixed=supplier)

    assert found.reasons == (
        "what tells one supplier from another is taken up by the fixed factor",
        "",
        "",
    )


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"value": [1.0]}, "fewer than two readings"),
        ({"value": [1.0, np.nan, 3.0, 4.0]}, "value nan at position 1 is not a finite number"),
        ({"levels": {"lot": [0, 1]}}, r"lot has shape \(2,\), but there are 4 readings"),
        ({"levels": {"lot": ["a", "a", None, "b"]}}, "reading 2 has no lot"),
        ({"residual": "lot"}, "lot is given twice"),
        ({"fixed": [0, 1]}, r"fixed factor has shape \(2,\)"),
        ({"fixed": [0, 1, 2, 3]}, "4 readings leave nothing beside 4 fixed effects"),
        ({"value": [1.0, 1.0, 3.0, 3.0]}, "the values of replicate never differ"),
        ({"confidence": 1.0}, "confidence 1 is not between 0 and 1"),
    ],
)
def test_readings_that_cannot_be_compared_are_refused_in_a_sentence(change, sentence):
    given = {"value": [1.0, 2.0, 3.0, 5.0], "levels": {"lot": [0, 0, 1, 1]}} | change

    with pytest.raises(InvalidInput, match=sentence):
        components(given.pop("value"), given.pop("levels"), **given)


def test_an_unknown_component_is_refused_with_the_known_ones():
    found = components([1.0, 2.0, 3.0, 5.0], {"lot": [0, 0, 1, 1]})

    with pytest.raises(InvalidInput, match=r"no component 'bag'.*lot, replicate"):
        found.sd_of("bag")


def test_a_search_that_is_stopped_before_it_settles_says_so(monkeypatch):
    monkeypatch.setattr(nested_reml, "MOST_STEPS", 1)
    value, lot, sample, _ = unbalanced()

    with pytest.raises(InvalidInput, match="has not settled after 1 steps"):
        components(value, {"lot": lot, "sample": sample})
