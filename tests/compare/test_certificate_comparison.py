import math

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from spc.compare.certificate_checks.certificate_comparison import certificates
from spc.compare.certificate_checks.certificate_pairs import certificate_pairs
from spc.compare.certificate_checks.certificate_plausibility import suspicious_patterns
from spc.errors import InvalidInput

GENERATOR = np.random.default_rng(100)
LOTS = 24
TRUE = 42_000.0 * np.exp(GENERATOR.normal(0.0, 0.12, LOTS))
FRAME = pd.DataFrame(
    {
        "lot": [f"L-{number:03d}" for number in range(LOTS)],
        "day": np.arange(LOTS) * 30.0,
        "declared": 100.0 * np.rint(TRUE * np.exp(GENERATOR.normal(0.0, 0.03, LOTS)) / 100.0),
        "own": TRUE * np.exp(GENERATOR.normal(0.0, 0.04, LOTS)),
        "own_uncertainty": 0.05,
        "own_sampling": 0.04,
        "declared_uncertainty": 0.04,
    }
)
NAMES = {
    "repeated values",
    "just inside the limit",
    "digit preference",
    "spread too small",
    "agreement too close",
}


def test_an_honest_supplier_agrees_and_shows_no_pattern():
    found = certificates(FRAME, scale="log", lower=34_000.0)

    assert found.agreement.bias_interval.low < 0.0 < found.agreement.bias_interval.high
    assert np.abs(found.expanded_score).max() < 1.2
    assert {pattern.name for pattern in found.patterns} == NAMES
    assert all(pattern.tested for pattern in found.patterns)
    assert not any(pattern.stands_out for pattern in found.patterns)
    assert found.causes == ()
    assert (found.certificates, found.lot.size) == (LOTS, LOTS)


def test_scores_are_those_of_log_ratios_and_shares():
    found = certificates(FRAME, scale="log")

    ratio = np.log(FRAME["declared"].to_numpy() / FRAME["own"].to_numpy())
    assert found.difference == pytest.approx(ratio)
    assert found.zeta == pytest.approx(ratio / math.hypot(0.05, 0.04))
    assert found.expanded_score == pytest.approx(found.zeta / 2.0)


def test_without_a_stated_uncertainty_no_score_is_made_up():
    found = certificates(FRAME.drop(columns="declared_uncertainty"), scale="log")

    assert np.isnan(found.zeta).all()
    assert np.isnan(found.expanded_score).all()
    assert np.isfinite(found.agreement.bias)


def test_a_laboratory_that_works_at_fifteen_is_named_as_the_likely_cause():
    frame = FRAME.assign(declared=FRAME["own"] * 15.0 / 16.1 * (1.0 + 0.01 * (-1.0) ** FRAME.index))

    found = certificates(frame, scale="log")

    assert "15 SHU per mg/kg" in found.causes[0].cause
    assert certificates(frame, scale="linear").causes == ()


def test_four_lots_name_no_cause_that_their_bias_may_not_have():
    """The same bias and scatter, but Student's t for three degrees of freedom."""
    frame = FRAME.assign(declared=FRAME["own"] * 0.93 * (1.0 + 0.04 * (-1.0) ** FRAME.index))

    assert certificates(frame, scale="log").causes != ()
    assert certificates(frame[:4], scale="log").causes == ()


def test_a_laboratory_that_drifts_is_told_by_the_year():
    drift = np.exp(0.10 * FRAME["day"] / 365.25)

    found = certificates(FRAME.assign(declared=FRAME["declared"] * drift), scale="log")

    expected = stats.linregress(FRAME["day"] / 365.25, found.difference)
    assert found.yearly is not None
    assert found.yearly.slope == pytest.approx(expected.slope)
    assert found.yearly.interval.low < 0.10 < found.yearly.interval.high
    assert found.yearly.p_value < 0.01


def test_a_change_of_method_is_dated():
    later = np.where(np.arange(LOTS) < 15, 1.0, 1.3)

    found = certificates(FRAME.assign(declared=FRAME["declared"] * later), scale="log")

    assert found.moved
    assert found.change is not None
    assert found.lot[found.change.start] == "L-015"
    assert found.change.after - found.change.before == pytest.approx(math.log(1.3), abs=0.05)


def test_order_of_rows_does_not_matter_where_days_are_known():
    found = certificates(FRAME, scale="log")

    mixed = certificates(FRAME.sample(frac=1.0, random_state=1), scale="log")

    assert mixed.lot.tolist() == found.lot.tolist()
    assert [pattern.p_value for pattern in mixed.patterns] == pytest.approx(
        [pattern.p_value for pattern in found.patterns], nan_ok=True
    )


def test_the_interval_of_the_next_one_holds_its_chance():
    found = certificates(FRAME, scale="log", within=0.08, confidence=0.9)

    ends = found.next.interval
    assert found.agreement.chance_within(ends.low, ends.high) == pytest.approx(0.9)
    assert found.next.chance == pytest.approx(
        found.agreement.chance_within(math.log(0.92), math.log(1.08))
    )


def test_certificates_without_own_result_count_for_what_they_print_only():
    own = FRAME["own"].where(FRAME.index % 3 > 0)

    found = certificates(FRAME.assign(own=own), scale="log", lower=34_000.0)

    sizes = {pattern.name: pattern.size for pattern in found.patterns}
    assert (found.lot.size, found.certificates) == (16, LOTS)
    assert sizes["digit preference"] == sizes["repeated values"] == LOTS
    assert sizes["spread too small"] == sizes["just inside the limit"] == 16


def test_typical_values_always_just_inside_stand_out_twice():
    declared = 100.0 * np.rint(380.0 * np.exp(GENERATOR.uniform(0.0, 0.02, LOTS)))

    found = certificates(FRAME.assign(declared=declared), scale="log", lower=38_000.0)

    standing = {pattern.name for pattern in found.patterns if pattern.stands_out}
    assert {"spread too small", "just inside the limit"} <= standing
    assert all(pattern.adjusted >= pattern.p_value for pattern in found.patterns if pattern.tested)


def test_the_print_is_read_where_it_is_given():
    printed = [f"{value / 1000:.2f}" for value in FRAME["declared"]]
    thousands = FRAME.assign(
        declared=[float(text) for text in printed], own=FRAME["own"] / 1000.0, printed=printed
    )

    found = certificates(thousands, scale="log")

    digits = next(pattern for pattern in found.patterns if pattern.name == "digit preference")
    assert "have a 0 as their last digit, that of 0.01" in digits.sentence
    assert digits.stands_out


def test_a_print_in_another_unit_is_refused_with_its_lot():
    printed = [f"{value / 16.1:.0f}" for value in FRAME["declared"]]

    with pytest.raises(InvalidInput, match="is printed for lot L-000, and"):
        certificates(FRAME.assign(printed=printed), scale="log")


def test_three_pairs_give_a_bias_and_say_of_every_pattern_that_they_are_too_few():
    found = certificates(FRAME[["declared", "own", "own_uncertainty"]][:3], scale="log", lower=1.0)

    assert found.agreement.lots == 3
    assert found.yearly is None
    assert found.change is None
    assert not any(pattern.tested for pattern in found.patterns)
    assert "3 certificates are too few" in found.patterns[0].sentence


def test_certificates_that_repeat_own_results_to_the_digit_have_no_step_and_no_doubt():
    found = certificates(FRAME.assign(declared=FRAME["own"]), scale="log")

    assert found.change is None
    assert not found.moved
    assert found.next.chance == 1.0
    copied = next(p for p in found.patterns if p.name == "agreement too close")
    assert copied.stands_out


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"scale": "log", "lower": 0.0}, "limit of 0 has no logarithm"),
        ({"lower": 5.0, "upper": 5.0}, "lower limit is not below"),
        ({"scale": "log", "within": 1.0}, "within 1 is not between"),
        ({"within": -1.0}, "within -1 is not between"),
        ({"confidence": 0.0}, "confidence 0"),
    ],
)
def test_impossible_questions_are_refused(options, words):
    with pytest.raises(InvalidInput, match=words):
        certificates(FRAME, **options)


def test_patterns_are_looked_for_in_a_stated_order():
    found = suspicious_patterns(
        certificate_pairs(FRAME, scale="log"), lower=math.log(34_000.0), upper=math.inf
    )

    assert found == certificates(FRAME, scale="log", lower=34_000.0).patterns
