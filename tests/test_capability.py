"""Capability: indices, their doubt, shares expected outside, and when nothing is said."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, optimize, stats

from spc import capability
from spc.capability import Interval, Withheld
from spc.capability.intervals import lower_bound
from spc.charts import d2
from spc.errors import InvalidInput, NoSpread, NotPositive, TooFewLots

GENERATOR = np.random.default_rng(22514)
HEAT = GENERATOR.lognormal(10.6, 0.12, size=60)
STREAM = GENERATOR.normal(50.0, 2.0, size=40)


def ends(interval):
    """The ends of an interval that is there."""
    assert isinstance(interval, Interval)
    return interval.low, interval.high


def standardised(n, *, mean=0.0, sigma=1.0):
    """n values with exactly this mean and standard deviation."""
    values = np.linspace(-1.0, 1.0, n)
    return mean + sigma * values / values.std(ddof=1)


class TestIndices:
    def test_they_are_distances_in_natural_spreads(self):
        found = capability.indices(
            standardised(30, mean=16.0, sigma=2.0), lower=8.0, upper=20.0, target=14.0
        )

        assert found.cp == pytest.approx(1.0)
        assert found.pp == pytest.approx(1.0)
        assert found.cpk == pytest.approx(2.0 / 3.0)
        assert found.cpm == pytest.approx(math.sqrt(0.5))
        assert found.expected_outside == pytest.approx(stats.norm.sf(2.0) + stats.norm.sf(4.0))
        assert (found.size, found.within_basis) == (30, "overall")

    def test_a_given_spread_within_moves_cp_and_leaves_pp(self):
        plain = capability.indices(STREAM, lower=40.0, upper=60.0)
        within = np.abs(np.diff(STREAM)).mean() / d2(2)

        found = capability.indices(STREAM, lower=40.0, upper=60.0, sigma_within=within)

        assert found.pp == plain.pp
        assert found.cp == pytest.approx(20.0 / (6.0 * within))
        assert found.within_basis == "given"
        assert found.cp is not None
        assert plain.cp is not None
        assert ends(found.intervals.cp)[0] / found.cp < ends(plain.intervals.cp)[0] / plain.cp

    @pytest.mark.parametrize(("lower", "upper"), [(48.0, None), (None, 52.0)])
    def test_one_limit_has_no_spread_index(self, lower, upper):
        found = capability.indices(STREAM, lower=lower, upper=upper, target=50.0)

        assert found.cp is found.pp is found.cpm is None
        assert found.intervals.cp is found.intervals.pp is found.intervals.cpm is None

    def test_on_log_scale_everything_is_compared_in_logarithms(self):
        logs = capability.indices(
            np.log(HEAT), lower=math.log(30_000.0), upper=math.log(60_000.0), target=math.log(4e4)
        )

        found = capability.indices(HEAT, lower=30_000.0, upper=60_000.0, target=4e4, scale="log")

        assert found.ppk == logs.ppk
        assert found.cpm == logs.cpm
        assert found.expected_outside == logs.expected_outside

    @settings(deadline=None, max_examples=50)
    @given(shift=st.floats(-100.0, 100.0), stretch=st.floats(0.01, 100.0))
    def test_they_depend_neither_on_unit_nor_on_order_nor_on_the_side(self, shift, stretch):
        plain = capability.indices(STREAM, lower=44.0, upper=60.0)

        moved = capability.indices(
            STREAM[::-1] * stretch + shift,
            lower=44.0 * stretch + shift,
            upper=60.0 * stretch + shift,
        )
        mirrored = capability.indices(-STREAM, lower=-60.0, upper=-44.0)

        assert moved.ppk == pytest.approx(plain.ppk, rel=1e-9)
        assert mirrored.ppk == pytest.approx(plain.ppk, rel=1e-12)
        assert mirrored.expected_above == pytest.approx(plain.expected_below, rel=1e-9)

    @settings(deadline=None, max_examples=50)
    @given(tighter=st.floats(0.0, 5.0))
    def test_a_tighter_limit_never_raises_an_index_or_lowers_the_share_outside(self, tighter):
        loose = capability.indices(STREAM, lower=40.0, upper=60.0)
        tight = capability.indices(STREAM, lower=40.0 + tighter, upper=60.0)

        assert tight.pp is not None
        assert loose.pp is not None
        assert tight.pp <= loose.pp
        assert tight.ppk <= loose.ppk
        assert tight.expected_outside >= loose.expected_outside
        assert tight.outside_at_most >= loose.outside_at_most - 1e-12


class TestDoubt:
    @pytest.mark.parametrize(
        ("n", "value"), [(10, 1.0), (50, 1.33), (125, 1.67), (25, -0.2), (1000, 3.0)]
    )
    def test_the_lower_bound_is_the_true_index_that_would_so_rarely_show_so_much(self, n, value):
        bound = lower_bound(value, n=n, confidence=0.95)

        root = 3.0 * math.sqrt(n)
        exceed, _ = integrate.quad(
            lambda s: (
                stats.chi.pdf(s * math.sqrt(n - 1), n - 1)
                * math.sqrt(n - 1)
                * stats.norm.cdf(root * value * s - root * bound)
            ),
            0.0,
            1.0 + 20.0 / math.sqrt(n),
            points=[1.0],
            epsabs=1e-13,
            limit=400,
        )
        assert exceed == pytest.approx(0.95, abs=1e-9)

    @pytest.mark.thorough
    def test_the_bounds_hold_as_often_as_they_say(self):
        """Eight hundred streams of 20 lots; four standard errors (0.031) of 95 %."""
        generator = np.random.default_rng(1990)
        true = {"one": stats.norm.sf(3.0), "two": stats.norm.sf(3.0) + stats.norm.sf(3.6)}
        kept = {"ppk": 0, "pp": 0, "one": 0, "two": 0}
        trials = 800
        for _ in range(trials):
            x = generator.standard_normal(20)
            one = capability.indices(x, lower=-3.0)
            two = capability.indices(x, lower=-3.0, upper=3.6)
            kept["ppk"] += one.ppk_at_least <= 1.0
            low, high = ends(two.intervals.pp)
            kept["pp"] += low <= 1.1 <= high
            kept["one"] += one.outside_at_most >= true["one"]
            kept["two"] += two.outside_at_most >= true["two"]
        error = 4.0 * math.sqrt(0.95 * 0.05 / trials)
        for name in ("ppk", "pp", "one"):
            assert kept[name] / trials == pytest.approx(0.95, abs=error)
        assert kept["two"] / trials >= 0.95 - error

    @pytest.mark.thorough
    def test_the_interval_of_cpm_holds_about_as_often_as_it_says(self):
        """Boyles' approximation, off target by half a sigma; within three points of 95 %."""
        generator = np.random.default_rng(1991)
        kept, trials = 0, 500
        true = 6.0 / (6.0 * math.sqrt(1.25))
        for _ in range(trials):
            x = generator.standard_normal(30)
            found = capability.indices(x, lower=-3.0, upper=3.0, target=0.5)
            low, high = ends(found.intervals.cpm)
            kept += low <= true <= high
        assert kept / trials == pytest.approx(0.95, abs=0.03)

    def test_more_lots_of_the_same_spread_narrow_every_interval(self):
        few, many = (
            capability.indices(standardised(n), lower=-4.0, upper=4.0, target=0.5) for n in (10, 40)
        )

        for name in ("cp", "cpk", "pp", "ppk", "cpm"):
            wide, narrow = getattr(few.intervals, name), getattr(many.intervals, name)
            assert narrow.high - narrow.low < wide.high - wide.low
        assert many.outside_at_most < few.outside_at_most


class TestPercentiles:
    @pytest.mark.parametrize("family", ["lognormal", "Weibull", "gamma"])
    def test_a_fit_to_exact_values_is_that_of_scipy(self, family):
        x = np.random.default_rng(5).gamma(6.0, 2.0, size=80)
        known = {"lognormal": stats.lognorm, "Weibull": stats.weibull_min, "gamma": stats.gamma}

        found = capability.percentile_indices(x, upper=40.0, family=family)

        fitted = known[family](*known[family].fit(x, floc=0.0))
        assert found.median == pytest.approx(fitted.median(), rel=1e-4)
        assert found.expected_above == pytest.approx(fitted.sf(40.0), rel=2e-3)
        assert found.log_likelihood == pytest.approx(fitted.logpdf(x).sum(), abs=1e-5)
        assert found.pp is None
        assert found.pp_interval is None

    def test_for_normal_values_it_is_pp_and_ppk_with_the_likeliest_sigma(self):
        found = capability.percentile_indices(STREAM, lower=40.0, upper=58.0, family="normal")

        plain = capability.indices(STREAM, lower=40.0, upper=58.0)
        ratio = math.sqrt(STREAM.size / (STREAM.size - 1.0))
        assert found.pp == pytest.approx((plain.pp or 0.0) * ratio, rel=1e-6)
        assert found.ppk == pytest.approx(plain.ppk * ratio, rel=1e-6)
        width = found.ppk_interval.high - found.ppk_interval.low
        bissell = plain.intervals.ppk.high - plain.intervals.ppk.low
        assert width == pytest.approx(bissell, rel=0.05)

    def test_open_readings_enter_with_the_chance_of_their_range(self):
        """Left, right and interval censored at once, against SciPy's own censored fit."""
        logs = np.log(HEAT)
        low, high = logs.copy(), logs.copy()
        left, right, between = logs < 10.52, logs > 10.75, (logs > 10.6) & (logs < 10.65)
        low[left], high[left] = -np.inf, 10.52
        low[right], high[right] = 10.75, np.inf
        low[between], high[between] = 10.6, 10.65

        found = capability.percentile_indices(
            low, high=high, lower=10.2, upper=11.0, family="normal"
        )

        given_data = stats.CensoredData(
            uncensored=logs[low == high],
            left=high[left],
            right=low[right],
            interval=np.column_stack([low[between], high[between]]),
        )
        mean, sigma = stats.norm.fit(given_data)
        assert found.median == pytest.approx(mean, abs=1e-4)
        assert (found.high - found.low) / 6.0 == pytest.approx(sigma, abs=2e-4)
        assert found.expected_outside == found.expected_below + found.expected_above
        assert found.open_readings == int((left | right | between).sum())
        assert found.expected_below == pytest.approx(stats.norm.cdf(10.2, mean, sigma), rel=0.02)

    def test_a_lognormal_fit_is_a_normal_fit_of_logarithms_open_readings_included(self):
        low, high = np.where(HEAT < 38_000.0, 0.0, HEAT), np.maximum(HEAT, 38_000.0)

        found = capability.percentile_indices(low, high=high, upper=60_000.0)

        with np.errstate(divide="ignore"):
            logs = capability.percentile_indices(
                np.log(low), high=np.log(high), upper=math.log(6e4), family="normal"
            )
        assert math.log(found.median) == pytest.approx(logs.median, abs=1e-6)
        assert found.expected_above == pytest.approx(logs.expected_above, rel=1e-4)

    @pytest.mark.thorough
    def test_the_interval_holds_about_as_often_as_it_says(self):
        """Sixty streams of 80 lognormal lots, a quarter open; 95 ± 8 %."""
        generator = np.random.default_rng(22)
        points = stats.lognorm(0.5).ppf([stats.norm.sf(3.0), 0.5, stats.norm.cdf(3.0)])
        true = capability.percentile_ratios(points, 0.0, 5.0).ppk
        kept = 0
        for _ in range(60):
            x = generator.lognormal(0.0, 0.5, size=80)
            found = capability.percentile_indices(
                np.where(x < 0.7, 0.0, x), high=np.maximum(x, 0.7), lower=0.0, upper=5.0
            )
            kept += found.ppk_interval.low <= true <= found.ppk_interval.high
        assert kept / 60 == pytest.approx(0.95, abs=0.08)

    def test_readings_of_which_hardly_any_is_exact_settle_nothing(self):
        with pytest.raises(InvalidInput, match="1 exact readings among 4 do not settle"):
            capability.percentile_indices(
                [1.0, 0.0, 0.0, 0.0], high=[1.0, 1.0, 1.0, 1.0], upper=5.0
            )


class TestTolerance:
    @pytest.mark.parametrize("n", [2, 3, 10, 43, 200])
    @pytest.mark.parametrize(("content", "confidence"), [(0.9, 0.99), (0.95, 0.95), (0.99, 0.9)])
    def test_the_one_sided_factor_solves_the_noncentral_t(self, n, content, confidence):
        factor = capability.tolerance_factor(n, content=content, confidence=confidence, sides=1)

        away = stats.norm.ppf(content) * math.sqrt(n)
        missed = stats.nct.sf(factor * math.sqrt(n), n - 1, away)
        assert missed == pytest.approx(1.0 - confidence, abs=1e-10)

    @pytest.mark.parametrize("n", [2, 3, 10, 43, 200])
    @pytest.mark.parametrize(("content", "confidence"), [(0.9, 0.99), (0.95, 0.95), (0.99, 0.9)])
    def test_the_two_sided_factor_solves_the_integral_over_the_mean(self, n, content, confidence):
        """Adaptive quadrature and a root finder at every node, beside fixed nodes and Newton."""
        factor = capability.tolerance_factor(n, content=content, confidence=confidence)

        def reach(off):
            def missing(r):
                return stats.norm.cdf(off + r) - stats.norm.cdf(off - r) - content

            return optimize.brentq(missing, 0.0, off + 10.0, xtol=1e-14)

        def held(off):
            tail = stats.chi2.sf((n - 1) * (reach(off) / factor) ** 2, n - 1)
            return 2.0 * stats.norm.pdf(off, scale=1.0 / math.sqrt(n)) * tail

        reached, _ = integrate.quad(held, 0.0, 9.0 / math.sqrt(n), epsabs=1e-12, epsrel=1e-11)
        assert reached == pytest.approx(confidence, abs=1e-9)

    @pytest.mark.thorough
    def test_the_interval_holds_enough_as_often_as_it_says(self):
        """Two thousand streams of 15 lots; four standard errors (0.027) of 90 %."""
        generator = np.random.default_rng(16269)
        kept = {"both": 0, "lower": 0, "upper": 0}
        trials = 2_000
        for _ in range(trials):
            x = generator.standard_normal(15)
            for side in ("both", "lower", "upper"):
                found = capability.tolerance_interval(x, content=0.9, confidence=0.9, side=side)
                kept[side] += stats.norm.cdf(found.upper) - stats.norm.cdf(found.lower) >= 0.9
        error = 4.0 * math.sqrt(0.9 * 0.1 / trials)
        for count in kept.values():
            assert count / trials == pytest.approx(0.9, abs=error)

    def test_on_log_scale_the_ends_are_those_of_the_logarithms(self):
        found = capability.tolerance_interval(HEAT, scale="log")
        logs = capability.tolerance_interval(np.log(HEAT))
        lower = capability.tolerance_interval(HEAT, scale="log", side="lower")

        assert [found.lower, found.upper] == pytest.approx(
            np.exp([logs.lower, logs.upper]).tolist()
        )
        assert lower.upper == math.inf
        assert lower.lower > found.lower
        assert found.size == 60

    @pytest.mark.parametrize("sides", [1, 2])
    def test_extremes_hold_a_share_as_often_as_order_statistics_say(self, sides):
        for n in (2, 10, 59):
            for p in (0.5, 0.9, 0.99):
                binomial = stats.binom.cdf(n - sides, n, p)
                assert capability.extremes_confidence(n, content=p, sides=sides) == pytest.approx(
                    binomial, abs=1e-12
                )

    @settings(deadline=None, max_examples=40)
    @given(
        content=st.floats(0.05, 0.995),
        confidence=st.floats(0.05, 0.999),
        sides=st.sampled_from([1, 2]),
    )
    def test_the_fewest_lots_are_enough_and_one_fewer_is_not(self, content, confidence, sides):
        n = capability.extremes_size(content=content, confidence=confidence, sides=sides)

        assert capability.extremes_confidence(n, content=content, sides=sides) >= confidence
        if n > sides:
            fewer = capability.extremes_confidence(n - 1, content=content, sides=sides)
            assert fewer < confidence


class TestGate:
    def test_steady_and_many_enough_lots_are_given_their_index(self):
        shown = capability.gate(lambda: capability.indices(STREAM, lower=44.0), lots=40, signals=0)

        assert not isinstance(shown, Withheld)
        assert shown.ppk == capability.indices(STREAM, lower=44.0).ppk

    @pytest.mark.parametrize(
        ("lots", "signals", "words"),
        [
            (1, 0, "1 lot is too few for a capability index; it needs 25"),
            (24, 0, "24 lots are too few"),
            (40, 1, "not stable: 1 of 40 lots is a signal"),
            (40, 3, "not stable: 3 of 40 lots are signals"),
        ],
    )
    def test_few_or_unsteady_lots_are_given_a_reason_and_nothing_is_computed(
        self, lots, signals, words
    ):
        def never():
            raise AssertionError

        withheld = capability.gate(never, lots=lots, signals=signals)

        assert isinstance(withheld, Withheld)
        assert words in withheld.reason
        assert withheld.remedy

    def test_equal_lots_are_given_a_reason(self):
        withheld = capability.gate(
            lambda: capability.indices([5.0] * 30, lower=4.0), lots=30, signals=0
        )

        assert isinstance(withheld, Withheld)
        assert "all 30 values are 5" in withheld.reason

    def test_a_mistake_of_the_caller_is_not_hidden(self):
        with pytest.raises(InvalidInput, match="nothing to be capable of"):
            capability.gate(lambda: capability.indices(STREAM), lots=40, signals=0)

    @pytest.mark.parametrize("signals", [-1, 41])
    def test_signals_that_no_lots_can_have(self, signals):
        with pytest.raises(InvalidInput, match="are not possible"):
            capability.gate(lambda: None, lots=40, signals=signals)


class TestRefusals:
    def test_too_few_equal_or_unfinished_values(self):
        with pytest.raises(TooFewLots):
            capability.indices([1.0], lower=0.0)
        with pytest.raises(NoSpread):
            capability.indices([1.0, 1.0], lower=0.0)
        with pytest.raises(InvalidInput, match="position 1"):
            capability.indices([1.0, math.nan], lower=0.0)

    @pytest.mark.parametrize(
        "limits",
        [{}, {"lower": 2.0, "upper": 2.0}, {"lower": math.nan}, {"lower": 3.0, "upper": 1.0}],
    )
    def test_limits_that_leave_nothing(self, limits):
        with pytest.raises(InvalidInput, match="nothing to be capable of"):
            capability.indices([1.0, 2.0], **limits)
        with pytest.raises(InvalidInput, match="nothing to be capable of"):
            capability.percentile_indices([1.0, 2.0, 3.0], **limits)

    @pytest.mark.parametrize("sigma", [0.0, -1.0, math.inf])
    def test_a_spread_within_that_is_none(self, sigma):
        with pytest.raises(InvalidInput, match="spread within"):
            capability.indices([1.0, 2.0], lower=0.0, sigma_within=sigma)

    def test_a_confidence_or_scale_that_is_none(self):
        with pytest.raises(InvalidInput, match="confidence 1 is not between"):
            capability.indices([1.0, 2.0], lower=0.0, confidence=1.0)
        with pytest.raises(InvalidInput, match="scale 'cubic'"):
            capability.indices([1.0, 2.0], lower=0.0, scale="cubic")  # type: ignore[arg-type]

    def test_a_value_or_limit_without_a_logarithm(self):
        with pytest.raises(NotPositive):
            capability.indices([1.0, 0.0], lower=0.5, scale="log")
        with pytest.raises(NotPositive):
            capability.indices([1.0, 2.0], lower=0.0, scale="log")

    @pytest.mark.parametrize(
        ("readings", "error"),
        [
            ({"x": [1.0, 2.0, 3.0], "family": "Cauchy"}, InvalidInput),
            ({"x": [1.0, 2.0, math.nan]}, InvalidInput),
            ({"x": [1.0, 2.0, 3.0], "high": [1.0, 2.0]}, InvalidInput),
            ({"x": [1.0, 2.0, 3.0], "high": [0.5, 2.0, 3.0]}, InvalidInput),
            ({"x": [1.0, 2.0, 0.0], "high": [1.0, 2.0, math.inf]}, InvalidInput),
            ({"x": [1.0, 2.0, math.inf]}, InvalidInput),
            ({"x": [1.0, 2.0, -math.inf], "family": "normal"}, InvalidInput),
            ({"x": [1.0, 2.0]}, TooFewLots),
            ({"x": [1.0, 1.0, 1.0]}, NoSpread),
            ({"x": [1.0, 2.0, 0.0]}, NotPositive),
        ],
    )
    def test_readings_that_no_family_fits(self, readings, error):
        with pytest.raises(error):
            capability.percentile_indices(**readings, upper=5.0)

    def test_tolerance_without_meaning(self):
        with pytest.raises(InvalidInput, match="no standard deviation"):
            capability.tolerance_factor(1, content=0.9, confidence=0.9)
        with pytest.raises(InvalidInput, match="3 sides"):
            capability.tolerance_factor(5, content=0.9, confidence=0.9, sides=3)
        with pytest.raises(InvalidInput, match=r"content 0\.4 is not between 0\.5"):
            capability.tolerance_factor(5, content=0.4, confidence=0.9)
        with pytest.raises(InvalidInput, match="side 'left'"):
            capability.tolerance_interval([1.0, 2.0], side="left")  # type: ignore[arg-type]
        with pytest.raises(InvalidInput, match="no two ends"):
            capability.extremes_confidence(1, content=0.9)
