import itertools
import math

import numpy as np
import pytest
from scipy import stats

from spc.compare.certificate_checks.certificate_pairs import certificate_pairs
from spc.compare.certificate_checks.inside_limits import chance_of_as_many, just_inside
from spc.compare.certificate_checks.lot_spread import lot_spread

GENERATOR = np.random.default_rng(21)
TRUE = 41_000.0 * np.exp(GENERATOR.normal(0.0, 0.12, 24))
OWN = TRUE * np.exp(GENERATOR.normal(0.0, 0.04, 24))


def looked_at(declared, *, own=OWN, uncertainty=0.04, lower=38_000.0, upper=math.inf):
    pairs = certificate_pairs(
        {"declared": declared, "own": own, "own_uncertainty": np.full(len(own), uncertainty)},
        scale="log",
    )
    return just_inside(
        pairs.paired(), lot_spread(pairs.paired()), lower=np.log(lower), upper=np.log(upper)
    )


def test_the_chance_of_as_many_is_that_of_every_outcome_summed():
    chances = np.array([0.1, 0.5, 0.02, 0.9])

    for seen in range(5):
        slow = sum(
            np.prod([c if hit else 1 - c for c, hit in zip(chances, outcome, strict=True)])
            for outcome in itertools.product([True, False], repeat=4)
            if sum(outcome) >= seen
        )
        assert chance_of_as_many(chances, seen) == pytest.approx(slow)


def test_equal_chances_are_the_binomial_test():
    expected = stats.binomtest(7, 30, 0.1, alternative="greater").pvalue

    assert chance_of_as_many(np.full(30, 0.1), 7) == pytest.approx(expected)


def test_certificates_that_are_always_just_inside_stand_out():
    declared = 38_000.0 * np.exp(GENERATOR.uniform(0.0, 0.02, 24))

    found = looked_at(declared)

    assert found.statistic == 24.0
    assert found.expected < 5.0
    assert found.p_value < 1e-9
    assert "24 of 24 declared values lie inside a limit by less than 3" in found.sentence


def test_certificates_lifted_over_the_limit_stand_out_from_honest_ones():
    honest = TRUE * np.exp(GENERATOR.normal(0.0, 0.03, 24))
    lifted = np.where(honest < 38_000.0, 38_000.0 * 1.005, honest)
    assert np.sum(lifted != honest) >= 4

    assert looked_at(lifted).p_value < 0.02
    assert looked_at(honest).p_value > 0.05


def test_an_upper_limit_is_looked_at_too():
    declared = 44_000.0 * np.exp(-GENERATOR.uniform(0.0, 0.02, 24))

    found = looked_at(declared, lower=30_000.0, upper=44_000.0)

    assert found.statistic == 24.0
    assert found.p_value < 1e-9


def test_a_value_printed_on_the_limit_lies_inside():
    assert looked_at(np.full(24, 38_000.0)).statistic == 24.0


@pytest.mark.parametrize("lower", [34_000.0, 41_000.0])
def test_honest_suppliers_are_seldom_said_to_crowd_wherever_the_limit_is(lower):
    generator = np.random.default_rng(18)
    p = []
    for _ in range(300):
        true = 41_000.0 * np.exp(generator.normal(0.0, 0.12, 20))
        own, declared = (true * np.exp(generator.normal(0.0, 0.05, 20)) for _ in range(2))
        p.append(looked_at(declared, own=own, uncertainty=0.05, lower=lower).p_value)

    assert np.mean(np.array(p) < 0.05) <= 0.08
    assert np.mean(np.array(p) < 0.01) <= 0.025


def test_a_supplier_whose_lots_are_just_inside_by_own_results_too_is_believed():
    true = 38_000.0 * np.exp(np.linspace(0.0, 0.12, 24))
    own, declared = true, true * np.exp(GENERATOR.normal(0.0, 0.01, 24))

    assert looked_at(declared, own=own, uncertainty=0.01).p_value > 0.05


def test_without_a_limit_nothing_crowds():
    pairs = certificate_pairs(
        {"declared": TRUE, "own": OWN, "own_uncertainty": np.full(24, 0.04)}, scale="log"
    ).paired()

    found = just_inside(pairs, lot_spread(pairs), lower=-math.inf, upper=math.inf)

    assert found.sentence == "The specification has no limit."


def test_own_results_that_are_mostly_error_say_nothing_of_certificates():
    found = looked_at(TRUE, uncertainty=0.2)

    assert not found.tested
    assert "differ little more than their own error" in found.sentence


def test_seven_pairs_are_too_few():
    assert "it takes 8" in looked_at(TRUE[:7], own=OWN[:7]).sentence
