import math
from dataclasses import replace

import numpy as np
import pytest

from spc.acceptance import Flag, History, Within
from spc.acceptance.evidence import flags, scatter
from spc.digits import THIN

KNOWN = Within(sigma=0.05, degrees=30)
INF = math.inf


def names(raised):
    return [flag.name for flag in raised]


def sentence(raised):
    (flag,) = raised
    return flag.sentence.replace(THIN, " ")


class TestUnusual:
    def test_a_signal_is_told_with_the_lots_it_rests_on(self):
        history = History(within=KNOWN, lots=24, signals=("beyond limits", "nine on one side"))

        said = sentence(flags.unusual("heat", history))

        assert said == (
            "heat is unusual (beyond limits, nine on one side), against a baseline of 24 lots."
        )

    def test_a_quiet_stream_raises_nothing(self):
        assert not list(flags.unusual("heat", History(within=KNOWN, lots=24)))


class TestCertificate:
    def test_a_difference_within_twice_both_uncertainties_is_no_disagreement(self, mean):
        """In logarithms: 0.14 against 2 times the root of 0.05² + 0.08², which is 0.19."""
        declared, own = mean(46_000.0, 0.08), mean(40_000.0, 0.05)

        assert not list(flags.certificate(own, declared))

    @pytest.mark.parametrize(
        ("declared", "number"), [(60_000.0, "E_n +2.1"), (26_666.7, "E_n −2.1")]
    )
    def test_a_larger_one_is_told_with_both_figures_and_its_score(self, mean, declared, number):
        said = sentence(flags.certificate(mean(40_000.0, 0.05), mean(declared, 0.08)))

        assert number in said
        assert "our liquid chromatography 40 000 SHU" in said
        assert f"the certificate says {round(declared, -2):,.0f}".replace(",", " ") in said

    def test_the_score_is_that_of_iso_13528(self, mean):
        """Numbers of the project's notes: 10.32 ± 0.20 against 10.05 ± 0.12, k = 2: 1.157615."""
        linear = {"scale": "linear", "unit": "g/100 g", "characteristic": "moisture"}

        said = sentence(flags.certificate(mean(10.05, 0.06, **linear), mean(10.32, 0.10, **linear)))

        assert "E_n +1.2" in said

    def test_a_method_with_a_hyphen_keeps_it(self, mean):
        own = mean(40_000.0, 0.05)
        own = replace(own, method=replace(own.method, method="HPLC-UV"))

        assert "our HPLC-UV 40 000" in sentence(flags.certificate(own, mean(20_000.0, 0.08)))

    @pytest.mark.parametrize(
        ("own", "declared"),
        [((0.0, 0.5), (0.0, 2.0)), ((0.0, 0.5), (0.3, 0.3)), ((17_000.0, INF), (40_000.0, INF))],
        ids=["both below quantification", "inside ours", "both above range"],
    )
    def test_open_results_that_can_both_be_true_do_not_disagree(self, mean, own, declared):
        one, other = (mean(low, 0.05, high=high) for low, high in (own, declared))

        assert not list(flags.certificate(one, other))

    @pytest.mark.parametrize(
        ("own", "declared"), [((17_000.0, INF), (8_000.0, 8_000.0)), ((0.0, 0.5), (4.0, 4.0))]
    )
    def test_open_results_disagree_where_even_their_nearest_ends_do(self, mean, own, declared):
        one, other = (mean(low, 0.05, high=high) for low, high in (own, declared))

        assert names(flags.certificate(one, other)) == ["certificate disagrees"]

    def test_nothing_found_has_no_ratio_to_what_was_declared(self, mean):
        assert not list(flags.certificate(mean(0.0, 0.05), mean(8_000.0, 0.08)))

    def test_exact_and_equal_values_do_not_disagree(self, mean):
        assert not list(flags.certificate(mean(5.0, 0.0), mean(5.0, 0.0)))


class TestReplicates:
    """Repeatability 2 %; of one sample read twice, at 1 % risk, 7.3 % are too much."""

    def test_readings_as_near_as_the_method_repeats_raise_nothing(self, readings):
        near = readings(40_000.0, 42_500.0, sample=[1, 1])

        assert not list(scatter.replicates(near, scale="log"))

    def test_readings_farther_apart_are_told_with_how_many_samples(self, readings):
        far = readings(40_000.0, 44_000.0, 40_100.0, 40_000.0, 39_000.0, sample=[1, 1, 2, 2, 3])

        said = sentence(scatter.replicates(far, scale="log"))

        assert "1 of 3 samples" in said
        assert "repeatability of liquid chromatography" in said

    def test_on_the_linear_scale_the_repeatability_is_in_the_unit(self, readings):
        oven = replace(readings(1.0).method, relative=False, repeatability=0.12)
        near, far = (
            readings(9.0, other, method=oven, unit="g/100 g", sample=[1, 1]) for other in (9.4, 9.5)
        )

        assert not list(scatter.replicates(near, scale="linear"))
        assert names(scatter.replicates(far, scale="linear")) == ["replicates spread"]

    def test_different_samples_may_differ(self, readings):
        assert not list(scatter.replicates(readings(20_000.0, 60_000.0), scale="log"))

    def test_open_readings_have_no_known_distance(self, readings):
        open_ended = readings(low=[0.0, 9.0], high=[0.5, 9.0], sample=[1, 1])

        assert not list(scatter.replicates(open_ended, scale="log"))

    def test_a_zero_has_no_known_distance_on_the_log_scale(self, readings):
        assert not list(scatter.replicates(readings(0.0, 9.0, sample=[1, 1]), scale="log"))

    def test_an_open_sample_does_not_hide_nor_raise_another(self, readings):
        """Its zero end must not turn ranges of logarithms into ranges of SHU."""
        samples = {"low": [0.0, 0.0, 40_000.0], "high": [500.0, 500.0, 40_000.0]}
        near, far = (
            readings(
                low=[*samples["low"], other], high=[*samples["high"], other], sample=[1, 1, 2, 2]
            )
            for other in (41_000.0, 52_000.0)
        )

        assert not list(scatter.replicates(near, scale="log"))
        assert names(scatter.replicates(far, scale="log")) == ["replicates spread"]

    def test_a_method_without_repeatability_is_not_judged_by_it(self, readings):
        method = replace(readings(1.0).method, repeatability=0.0)
        far = readings(40_000.0, 80_000.0, sample=[1, 1], method=method)

        assert not list(scatter.replicates(far, scale="log"))

    def test_an_honest_lot_of_six_bags_read_twice_is_flagged_once_in_a_hundred(self, readings):
        """Four thousand lots; four standard errors of a share of 1 % are 0.63 %."""
        generator = np.random.default_rng(5725)
        logs = 10.0 + 0.02 * generator.standard_normal((4000, 12))
        sample = np.repeat(np.arange(6), 2)

        flagged = [
            bool(list(scatter.replicates(readings(*np.exp(lot), sample=sample), scale="log")))
            for lot in logs
        ]

        assert np.mean(flagged) == pytest.approx(0.01, abs=4.0 * math.sqrt(0.01 * 0.99 / 4000))


class TestOutlyingMeans:
    """Six bags of 2 %; by Grubbs at 1 % the farthest may lie 1.973 standard deviations out."""

    BAGS = (40_000.0, 40_800.0, 39_300.0, 40_300.0, 39_700.0)

    def test_a_bag_far_from_the_others_is_told_and_kept(self, readings):
        said = sentence(scatter.outlying_means(readings(*self.BAGS, 60_000.0), scale="log"))

        assert said.startswith("heat: 1 of 6 samples by liquid chromatography (60 000 SHU) lies")
        assert "(Grubbs 2.04, limit 1.97)" in said
        assert said.endswith("Nothing was left out; find the cause before anything is.")

    def test_a_bag_a_little_away_is_not(self, readings):
        assert not list(scatter.outlying_means(readings(*self.BAGS, 41_500.0), scale="log"))

    def test_among_many_bags_several_cannot_hide_behind_each_other(self, readings):
        many = np.linspace(39_000.0, 41_000.0, 14)

        said = sentence(
            scatter.outlying_means(readings(*many, 60_000.0, 60_500.0, 61_000.0), scale="linear")
        )

        assert "3 of 17 samples" in said
        assert ") lie farther" in said
        assert "generalised ESD" in said

    @pytest.mark.parametrize(
        "ends",
        [
            {"low": [40_000.0, 90_000.0]},
            {"low": [40_000.0] * 3 + [90_000.0], "high": [40_000.0] * 3 + [INF]},
            {"low": [40_000.0] * 6},
            {"low": [0.0, 40_000.0, 41_000.0]},
        ],
        ids=["two samples", "one open", "all equal", "nothing found"],
    )
    def test_without_three_numbers_that_differ_there_is_nothing_to_test(self, readings, ends):
        assert not list(scatter.outlying_means(readings(**ends), scale="log"))

    @pytest.mark.thorough
    def test_an_honest_lot_of_six_bags_is_flagged_once_in_a_hundred(self, readings):
        generator = np.random.default_rng(21)
        lots = np.exp(10.0 + 0.06 * generator.standard_normal((3000, 6)))

        flagged = [bool(list(scatter.outlying_means(readings(*lot), scale="log"))) for lot in lots]

        assert np.mean(flagged) == pytest.approx(0.01, abs=4.0 * math.sqrt(0.01 * 0.99 / 3000))


class TestOutlyingSpread:
    QUIET = (40_000.0, 40_100.0, 40_500.0, 40_400.0, 39_900.0, 40_000.0, 40_200.0, 40_300.0)
    PAIRS = (1, 1, 2, 2, 3, 3, 4, 4, 5, 5)

    def test_a_sample_whose_readings_scatter_more_is_told_by_its_value(self, readings):
        wild = readings(*self.QUIET, 41_000.0, 45_000.0, sample=self.PAIRS)

        said = sentence(scatter.outlying_spread(wild, scale="linear"))

        assert "the 2 readings of one of 5 samples" in said
        assert "(about 43 000 SHU)" in said
        assert "Cochran 1.00, limit 0.93" in said

    def test_samples_that_scatter_alike_raise_nothing(self, readings):
        alike = readings(*self.QUIET, 41_000.0, 41_100.0, sample=self.PAIRS)

        assert not list(scatter.outlying_spread(alike, scale="log"))

    def test_samples_read_as_often_as_most_are_compared(self, readings):
        """The one read three times is left out of the comparison, and a single reading too."""
        some = readings(
            *self.QUIET, 41_000.0, 45_000.0, 49_000.0, 30_000.0, sample=[*self.PAIRS, 5, 6]
        )

        assert not list(scatter.outlying_spread(some, scale="linear"))

    @pytest.mark.parametrize(
        ("values", "sample"),
        [
            ((40_000.0, 50_000.0), (1, 2)),
            ((40_000.0, 50_000.0), (1, 1)),
            ((40_000.0, 40_000.0, 41_000.0, 41_000.0), (1, 1, 2, 2)),
            ((0.0, 40_000.0, 41_000.0, 41_500.0), (1, 1, 2, 2)),
        ],
        ids=["no replicates", "one sample", "no spread", "one without logarithm"],
    )
    def test_without_two_spreads_there_is_nothing_to_test(self, readings, values, sample):
        assert not list(scatter.outlying_spread(readings(*values, sample=sample), scale="log"))


class TestAboveRange:
    def test_readings_above_range_are_counted(self, readings):
        some = readings(low=[9_000.0, 17_000.0, 17_000.0], high=[9_000.0, INF, INF])

        said = sentence(flags.above_range(some))

        assert said.startswith("heat: 2 of 3 readings lie above the calibrated range")
        assert "dilute further" in said

    def test_readings_inside_it_raise_nothing(self, readings):
        assert not list(flags.above_range(readings(9_000.0)))


class TestSlip:
    def test_a_tenth_of_what_is_usual_is_told_with_its_cause(self, mean):
        said = sentence(flags.slip(mean(4_100.0, 0.05), expected=42_000.0, by="usual is"))

        assert "gives 4 100 SHU, usual is 42 000 SHU" in said
        assert "the dilution in the cell was forgotten" in said
        assert "Check the second dilution" in said

    @pytest.mark.parametrize("expected", [42_000.0, 90_000.0, math.nan, 0.0, INF])
    def test_an_honest_ratio_or_no_expectation_raises_nothing(self, mean, expected):
        assert not list(flags.slip(mean(40_000.0, 0.05), expected=expected, by=""))

    @pytest.mark.parametrize(("low", "high"), [(0.0, 0.5), (17_000.0, INF), (0.0, 0.0)])
    def test_an_open_result_has_no_ratio(self, mean, low, high):
        assert not list(flags.slip(mean(low, 0.05, high=high), expected=10.0 * low + 5.0, by=""))


def test_the_policy_of_the_material_says_which_flags_hold():
    slip, spread = (Flag(name=one, sentence="") for one in ("possible slip", "replicates spread"))

    marked = flags.with_policy([slip, spread, slip], ("possible slip",))

    assert [(flag.name, flag.holds) for flag in marked] == [
        ("possible slip", True),
        ("replicates spread", False),
    ]
