"""What blends that were measured teach the model that predicted them."""

import importlib
import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from spc.blend.outlook.learning import FEWEST_BLENDS, PRIOR, learned_bias, with_deviations
from spc.errors import InvalidInput

# Deviations of nine blends and their standard uncertainties, shares; invented.
DEVIATION = np.array([0.031, 0.052, -0.011, 0.094, 0.043, 0.008, 0.121, 0.037, -0.028])
UNCERTAINTY = np.array([0.021, 0.035, 0.027, 0.03, 0.018, 0.025, 0.04, 0.022, 0.03])


def deviations(deviation, uncertainty, *, scale="log", characteristic="heat"):
    return pd.DataFrame(
        {
            "characteristic": characteristic,
            "scale": scale,
            "deviation": np.asarray(deviation, dtype=np.float64),
            "deviation_u": np.broadcast_to(uncertainty, np.shape(deviation)).astype(np.float64),
        }
    )


def compared(**more):
    """One blend, predicted 40 000 and measured 44 000, with what is given instead."""
    line = {
        "scale": "log",
        "predicted": 40_000.0,
        "predicted_sd": 1_600.0,
        "learned": 0.0,
        "measured": 44_000.0,
        "measured_u": 1_320.0,
    }
    return with_deviations(pd.DataFrame([line | more])).iloc[0]


def test_a_deviation_of_heat_is_the_logarithm_of_measured_over_predicted():
    line = compared()

    assert line["deviation"] == pytest.approx(math.log(1.1))
    assert line["deviation_u"] == pytest.approx(math.hypot(0.04, 0.03))
    assert line["zeta"] == pytest.approx(math.log(1.1) / 0.05)


def test_a_deviation_of_moisture_is_a_share_of_what_was_predicted():
    line = compared(scale="linear", predicted=8.0, predicted_sd=0.3, measured=8.4, measured_u=0.4)

    assert line["deviation"] == pytest.approx(0.05)
    assert line["deviation_u"] == pytest.approx(1.05 * math.hypot(0.3 / 8.0, 0.4 / 8.4))
    assert line["zeta"] == pytest.approx(0.4 / 0.5)


def test_a_zeta_score_is_that_of_the_standard_s_formula():
    """ISO 13528's formula on the made-up figures of refs/tables.md: 2.315231."""
    line = compared(
        scale="linear", predicted=10.05, predicted_sd=0.06, measured=10.32, measured_u=0.10
    )

    assert line["zeta"] == pytest.approx(2.315231, abs=5e-7)


@pytest.mark.parametrize(("scale", "factor"), [("log", math.exp(0.04)), ("linear", 1.04)])
def test_a_correction_already_in_the_prediction_is_not_learnt_twice(scale, factor):
    """What the model alone said is compared; what was promised is what zeta judges."""
    alone = compared(scale=scale)
    corrected = compared(
        scale=scale, learned=0.04, predicted=40_000 * factor, predicted_sd=1_600 * factor
    )

    assert corrected["deviation"] == pytest.approx(alone["deviation"])
    assert corrected["deviation_u"] == pytest.approx(alone["deviation_u"])
    assert abs(corrected["zeta"]) < abs(alone["zeta"])


@pytest.mark.parametrize(
    "lacking",
    [{"measured": math.nan, "measured_u": math.nan}, {"predicted": 0.0}, {"measured": 0.0}],
)
def test_what_cannot_be_compared_has_no_deviation(lacking):
    line = compared(**lacking)

    assert math.isnan(line["deviation"])
    assert math.isnan(line["deviation_u"])
    assert math.isnan(line["zeta"])


def test_equal_blends_are_shrunk_as_the_closed_form_says():
    """Equal variances and a normal prior about zero: precisions add up."""
    learned = learned_bias(deviations([0.05, 0.06, 0.07, 0.06], 0.04), prior=0.05)

    evidence, belief = 4 / 0.04**2, 1 / 0.05**2
    assert learned.scatter == 0.0
    assert learned.weight == pytest.approx(evidence / (evidence + belief))
    assert learned.bias == pytest.approx(0.06 * learned.weight)
    assert learned.standard_uncertainty == pytest.approx((evidence + belief) ** -0.5)
    reach = 1.959963985 * learned.standard_uncertainty
    assert (learned.low, learned.high) == pytest.approx(
        (learned.bias - reach, learned.bias + reach)
    )


def test_the_posterior_is_that_of_a_sum_over_every_bias_there_may_be():
    """A slow second computation: likelihood times prior on a fine grid."""
    learned = learned_bias(deviations(DEVIATION, UNCERTAINTY), confidence=0.9)

    grid = np.linspace(-0.4, 0.4, 40_001)
    spread = np.hypot(UNCERTAINTY, learned.scatter)
    density = stats.norm.logpdf(grid, scale=PRIOR)
    density -= (((DEVIATION[:, None] - grid) / spread[:, None]) ** 2 / 2.0).sum(axis=0)
    weight = np.exp(density - density.max())
    weight /= weight.sum()
    mean = float(weight @ grid)
    ends = grid[np.searchsorted(weight.cumsum(), [0.05, 0.95])]
    assert learned.bias == pytest.approx(mean, abs=1e-6)
    assert learned.standard_uncertainty == pytest.approx(
        math.sqrt(weight @ (grid - mean) ** 2), rel=1e-4
    )
    assert (learned.low, learned.high) == pytest.approx(tuple(ends), abs=3e-5)


def test_the_scatter_is_that_of_a_general_purpose_library():
    """`combine_effects` of statsmodels solves the same equation of Paule and Mandel."""
    library = importlib.import_module("statsmodels.stats.meta_analysis")
    other = library.combine_effects(DEVIATION, UNCERTAINTY**2, method_re="iterated", atol=1e-12)

    learned = learned_bias(deviations(DEVIATION, UNCERTAINTY), prior=1e6)
    assert other.tau2 > 0.0
    assert learned.scatter**2 == pytest.approx(other.tau2, rel=1e-6)
    # With no belief beforehand, what is left is the library's weighted mean.
    assert learned.bias == pytest.approx(float(other.mean_effect_re), rel=1e-6)


def test_blends_that_scatter_more_than_they_should_teach_less():
    calm = learned_bias(deviations([0.05, 0.06, 0.07, 0.06], 0.03))
    wild = learned_bias(deviations([-0.15, 0.06, 0.27, 0.06], 0.03))

    assert wild.scatter > 0.1
    assert abs(wild.bias) < abs(calm.bias)
    assert wild.standard_uncertainty > calm.standard_uncertainty


@pytest.mark.parametrize("blends", range(FEWEST_BLENDS))
def test_fewer_than_three_blends_say_nothing_and_correct_nothing(blends):
    learned = learned_bias(deviations([0.2] * blends, 0.01))

    assert not learned.can_be_said
    assert learned.blends == blends
    assert math.isnan(learned.bias)
    assert learned.corrected(40_000.0, 1_600.0) == (40_000.0, 1_600.0)


def test_blends_that_were_not_measured_do_not_count():
    known = learned_bias(deviations(DEVIATION, UNCERTAINTY))
    waiting = learned_bias(deviations([*DEVIATION, math.nan], [*UNCERTAINTY, math.nan]))

    assert waiting == known


def test_the_order_of_blends_does_not_matter_and_their_sign_does():
    straight = learned_bias(deviations(DEVIATION, UNCERTAINTY))
    backwards = learned_bias(deviations(DEVIATION[::-1], UNCERTAINTY[::-1]))
    mirrored = learned_bias(deviations(-DEVIATION, UNCERTAINTY))

    assert backwards.bias == pytest.approx(straight.bias, rel=1e-12)
    assert mirrored.bias == pytest.approx(-straight.bias, rel=1e-12)


def test_the_interval_holds_the_bias_as_often_as_it_says():
    """Seeded: five blends each, uncertainties of 3 to 6 %, a bias drawn from what was believed."""
    generator = np.random.default_rng(20_261_125)
    held = 0
    for _ in range(400):
        bias, uncertainty = generator.normal(0.0, PRIOR), generator.uniform(0.03, 0.06, 5)
        learned = learned_bias(deviations(generator.normal(bias, uncertainty), uncertainty))
        held += learned.low <= bias <= learned.high

    # 95 % with a standard deviation of 1.1 %.
    assert 0.92 <= held / 400 <= 0.985


@pytest.mark.parametrize("scale", ["log", "linear"])
def test_the_next_prediction_carries_the_bias_and_its_uncertainty(scale):
    """Against a seeded simulation of a biased model whose bias is known as far as it was learnt."""
    learned = learned_bias(deviations(DEVIATION, UNCERTAINTY, scale=scale))
    mean, spread = learned.corrected(40_000.0, 1_600.0)

    generator = np.random.default_rng(7)
    bias = generator.normal(learned.bias, learned.standard_uncertainty, 400_000)
    model = generator.normal(40_000.0, 1_600.0, bias.size)
    truth = model * (np.exp(bias) if scale == "log" else 1.0 + bias)
    assert mean == pytest.approx(truth.mean(), rel=1e-3)
    assert spread == pytest.approx(truth.std(), rel=5e-3)


@pytest.mark.parametrize(
    ("frame", "more", "what"),
    [
        (
            pd.concat([deviations([0.1], 0.1), deviations([0.1], 0.1, characteristic="colour")]),
            {},
            "colour, heat were given together",
        ),
        (deviations([0.1, 0.1, 0.2], [0.1, 0.0, 0.1]), {}, "no uncertainty above zero"),
        (deviations([0.1, 0.1, 0.2], 0.1), {"prior": 0.0}, "a prior of 0 cannot be used"),
        (deviations([0.1, 0.1, 0.2], 0.1), {"prior": math.nan}, "a prior of nan cannot be used"),
        (deviations([0.1, 0.1, 0.2], 0.1), {"confidence": 1.0}, "a confidence of 1 cannot be used"),
    ],
)
def test_what_nothing_can_be_learnt_from_is_refused(frame, more, what):
    with pytest.raises(InvalidInput) as refused:
        learned_bias(frame, **more)

    assert what in str(refused.value)
    assert refused.value.remedy
