"""Published average run lengths of steady lots, met by simulation through `run_rules`.

Champ, C. W. and Woodall, W. H. (1987), Exact results for Shewhart control charts with
supplementary runs rules, Technometrics 29(4), 393-399, Table 1; the last row of SETS is also
printed in section 6.3.2 of the NIST/SEMATECH e-Handbook.  Standard normal lots, known centre
and sigma, first signal counted from the first lot on.
"""

import math

import numpy as np
import pytest

from spc import charts

LIMITS, TWO, FOUR, EIGHT = (
    "beyond limits",
    "two of three far out",
    "four of five out",
    "eight on one side",
)
SETS = [
    ((LIMITS, TWO), 225.44),
    ((LIMITS, FOUR), 166.05),
    ((LIMITS, EIGHT), 152.73),
    ((LIMITS, TWO, FOUR, EIGHT), 91.75),
]


def first_signals(generator, rules, *, streams, lots, shift=0.0):
    """Number of lots until the first signal of each stream, zero if none came."""
    z = generator.normal(shift, 1.0, size=(streams, lots))
    starts = np.arange(streams) * lots
    signals = charts.run_rules(z.ravel(), rules=rules, starts=starts).any(axis=1)
    signals = signals.reshape(streams, lots)
    return np.where(signals.any(axis=1), signals.argmax(axis=1) + 1, 0)


def average_run_length(rules, *, streams, lots, shift=0.0):
    """Mean and standard error over many streams, a thousand at a time to spare memory."""
    generator = np.random.default_rng(1987)
    lengths = np.concatenate(
        [
            first_signals(generator, rules, streams=1000, lots=lots, shift=shift)
            for _ in range(streams // 1000)
        ]
    )
    assert lengths.all(), "streams too short for every one to signal"
    return lengths.mean(), lengths.std() / math.sqrt(streams)


@pytest.mark.parametrize(("rules", "printed"), SETS, ids=str)
def test_steady_lots_run_as_long_as_table_1_says(rules, printed):
    simulated, standard_error = average_run_length(rules, streams=10_000, lots=3000)

    assert standard_error < 0.011 * printed
    assert simulated == pytest.approx(printed, abs=3.0 * standard_error)


@pytest.mark.thorough
def test_the_four_western_electric_rules_run_91_75_lots_within_one_per_cent():
    simulated, standard_error = average_run_length(
        (LIMITS, TWO, FOUR, EIGHT), streams=100_000, lots=1500
    )

    assert standard_error < 0.0033 * 91.75
    assert simulated == pytest.approx(91.75, abs=3.0 * standard_error)


@pytest.mark.thorough
def test_limits_alone_run_370_4_lots():
    simulated, standard_error = average_run_length((LIMITS,), streams=10_000, lots=6000)

    assert standard_error < 0.011 * 370.4
    assert simulated == pytest.approx(370.4, abs=3.0 * standard_error)


@pytest.mark.thorough
@pytest.mark.parametrize(("shift", "printed"), [(1.0, 9.22), (2.0, 3.13), (3.0, 1.67)])
def test_a_shift_is_met_as_soon_as_table_1_says(shift, printed):
    """Short runs, so that patterns completed by a stream's first lots weigh in."""
    simulated, standard_error = average_run_length(
        (LIMITS, TWO, FOUR, EIGHT), streams=200_000, lots=150, shift=shift
    )

    assert standard_error < 0.0025 * printed
    assert simulated == pytest.approx(printed, abs=3.0 * standard_error + 0.005)
