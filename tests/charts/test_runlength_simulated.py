import math

import numpy as np
import pytest

from spc import charts
from spc.errors import InvalidInput


def simulated(rules, shift=0.0, *, seed=11, streams=4000, longest=5000, **options):
    generator = np.random.default_rng(seed)
    return charts.run_length_simulated(
        rules, shift, generator=generator, streams=streams, longest=longest, **options
    )


def one_by_one(rules, *, streams, lots, seed):
    """First signals of whole streams, judged at once."""
    z = np.random.default_rng(seed).normal(size=(streams, lots))
    found = charts.run_rules(z.ravel(), rules=rules, starts=np.arange(streams) * lots).any(axis=1)
    return found.reshape(streams, lots).argmax(axis=1) + 1


@pytest.mark.parametrize(
    ("rules", "shift", "width"),
    [
        (("beyond limits", "two of three far out", "eight on one side"), 0.0, 3.0),
        (("four of five out", "nine on one side"), 0.8, 3.0),
        (("fifteen hugging the centre", "beyond limits"), 0.0, 2.5),
        (("eight avoiding the centre", "two of three far out"), 1.0, 3.0),
    ],
)
def test_streams_run_as_long_as_the_exact_chain_says(rules, shift, width):
    trial = simulated(rules, shift, width=width)

    exact = charts.run_length(rules, shift, width=width)
    assert trial.censored == 0
    assert trial.standard_error == pytest.approx(trial.mean / math.sqrt(4000), rel=0.5)
    assert trial.mean == pytest.approx(exact, abs=3.0 * trial.standard_error)


def test_streams_cut_short_still_tell_the_average():
    trial = simulated(("beyond limits",), longest=100)

    assert trial.censored == pytest.approx(4000 * (1.0 - 1.0 / 370.4) ** 100, rel=0.05)
    assert trial.standard_error > simulated(("beyond limits",)).standard_error
    assert trial.mean == pytest.approx(370.398, abs=3.0 * trial.standard_error)


@pytest.mark.thorough
@pytest.mark.parametrize("rules", [("six rising or falling",), ("fourteen alternating",)])
def test_patterns_that_cross_from_block_to_block_are_found(rules):
    lengths = one_by_one(rules, streams=4000, lots=5000, seed=5)

    trial = simulated(rules)

    both = math.hypot(trial.standard_error, lengths.std() / math.sqrt(4000))
    assert trial.mean == pytest.approx(lengths.mean(), abs=3.0 * both)


@pytest.mark.parametrize("rules", [("six rising or falling",), ("fourteen alternating",)])
def test_rules_that_compare_lots_do_not_notice_a_steady_shift(rules):
    there, here = simulated(rules, 2.0), simulated(rules)

    assert there.mean == pytest.approx(here.mean, rel=1e-12)


def test_the_same_generator_gives_the_same_result():
    assert simulated(charts.DEFAULT_RULES) == simulated(charts.DEFAULT_RULES)
    assert simulated(charts.DEFAULT_RULES) != simulated(charts.DEFAULT_RULES, seed=12)


def test_the_result_says_what_it_rests_on():
    trial = simulated(("beyond limits",), streams=200, longest=300)

    assert (trial.streams, trial.longest) == (200, 300)
    assert 0 < trial.censored < 200


@pytest.mark.parametrize(("streams", "longest"), [(99, 1000), (0, 1000), (1000, 0)])
def test_too_little_effort_is_refused(streams, longest):
    with pytest.raises(InvalidInput, match=r"^run_length_simulated: streams of|^run_len.*streams"):
        simulated(("beyond limits",), streams=streams, longest=longest)


@pytest.mark.parametrize("rules", [(), ("fifteen hugging the centre",)])
def test_streams_that_never_signal_show_no_average(rules):
    with pytest.raises(InvalidInput, match=r"none of 100 streams signalled within 10 lots"):
        simulated(rules, streams=100, longest=10)


def test_an_unknown_rule_is_refused():
    with pytest.raises(InvalidInput, match=r"^run_length_simulated: there is no run rule"):
        simulated(("xyz",))
