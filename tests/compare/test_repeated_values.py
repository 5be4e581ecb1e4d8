import numpy as np
import pytest

from spc.compare.certificate_checks.certificate_pairs import certificate_pairs
from spc.compare.certificate_checks.printed_digits import printed_digits
from spc.compare.certificate_checks.repeated_values import repeated_values

GENERATOR = np.random.default_rng(64)
HONEST = 100.0 * np.rint(42_000.0 * np.exp(GENERATOR.normal(0.0, 0.1, 20)) / 100.0)


def looked_at(declared, *, spread=0.1, scale="log"):
    declared = np.asarray(declared, dtype=np.float64)
    pairs = certificate_pairs(
        {"declared": declared, "own": declared, "own_uncertainty": np.zeros(declared.size)},
        scale=scale,
    )
    return repeated_values(pairs, printed_digits(pairs.printed), spread=spread)


def test_a_supplier_that_copies_every_other_certificate_stands_out():
    found = looked_at(np.repeat(HONEST[:10], 2))

    assert found.statistic >= 10.0
    assert found.p_value == pytest.approx(1e-4)
    assert "20 declared values repeat an earlier one, in steps of 100" in found.sentence


def test_expected_repeats_are_those_of_the_birthday_problem():
    """Pairs times the chance that two normal values round alike: step / (2 sqrt(pi) sigma)."""
    declared = np.rint(GENERATOR.normal(5_000.0, 100.0, 30))

    found = looked_at(declared, scale="linear")

    pairs = 30 * 29 / 2
    assert found.expected == pytest.approx(
        pairs / (2.0 * np.sqrt(np.pi) * declared.std(ddof=1)), rel=0.1
    )


def test_one_value_on_every_certificate_is_held_against_the_spread_of_own_results():
    found = looked_at(np.full(12, 42_000.0))

    assert found.statistic == 11.0
    assert found.p_value == pytest.approx(1e-4)


def test_coarse_rounding_repeats_by_itself():
    """Moisture printed to a tenth, and lots that differ by two."""
    found = looked_at(np.round(GENERATOR.normal(9.5, 0.2, 30), 1), scale="linear")

    assert found.statistic > 15
    assert found.p_value > 0.1


def test_honest_suppliers_are_seldom_said_to_repeat():
    generator = np.random.default_rng(2)
    declared = np.rint(generator.normal(420.0, 20.0, (60, 15)))

    told = np.mean([looked_at(row, scale="linear").p_value < 0.05 for row in declared])

    assert told <= 0.1


def test_the_same_certificates_always_give_the_same_chance():
    assert looked_at(HONEST).p_value == looked_at(HONEST).p_value


def test_long_streams_are_drawn_less_often():
    declared = np.rint(np.random.default_rng(3).normal(50_000.0, 9_000.0, 600))

    found = looked_at(declared, scale="linear")

    assert found.p_value > 1.0 / 4000


@pytest.mark.parametrize(
    ("declared", "spread", "words"),
    [
        (HONEST[:5], 0.1, "5 certificates are too few; it takes 6."),
        (np.full(9, 42_000.0), 0.0, "Neither certificates nor own results differ"),
    ],
)
def test_too_little_is_said_to_be_too_little(declared, spread, words):
    found = looked_at(declared, spread=spread)

    assert not found.tested
    assert words in found.sentence
