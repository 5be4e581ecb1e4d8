import math

import numpy as np
import pytest
from scipy import stats

from spc import charts
from spc.charts.rules import runlength_weighted
from spc.errors import InvalidInput


def one_sided_by_cells(reference, decision, shift, cells):
    """Brook and Evans (1972), Biometrika 59(3), 539-549: the sum lumped into equal cells."""
    step = 2.0 * decision / (2 * cells - 1)
    height = np.arange(cells) * step
    drift = shift - reference
    upper = stats.norm.cdf(height + step / 2.0 - height[:, None] - drift)
    moves = np.diff(upper, axis=1, prepend=0.0)
    return np.linalg.solve(np.eye(cells) - moves, np.ones(cells))[0]


@pytest.mark.parametrize(
    ("reference", "decision", "shift"), [(0.5, 4.0, 0.0), (0.25, 8.0, 0.5), (1.0, 2.5, 0.0)]
)
def test_the_upper_sum_runs_as_long_as_a_fine_chain_of_cells(reference, decision, shift):
    """The error of the cells falls with their square; extrapolated, 1e-6 is left."""
    coarse, fine = (one_sided_by_cells(reference, decision, shift, n) for n in (300, 600))
    ratio = ((2 * 600 - 1) / (2 * 300 - 1)) ** 2
    cells = (ratio * fine - coarse) / (ratio - 1.0)

    length = charts.run_length_cusum(reference=reference, decision=decision, shift=shift, sides=1)

    assert length == pytest.approx(cells, rel=1e-6)


def simulated_cusum(shift, *, reference, decision, head_start, streams=40_000, lots=600):
    generator = np.random.default_rng(54)
    high = np.full(streams, head_start)
    low, length = high.copy(), np.zeros(streams)
    for lot in range(1, lots + 1):
        z = generator.normal(shift, 1.0, size=streams)
        high = np.maximum(0.0, high + z - reference)
        low = np.maximum(0.0, low - z - reference)
        ended = (length == 0) & ((high > decision) | (low > decision))
        length[ended] = lot
    assert length.all()
    return length.mean(), length.std() / math.sqrt(streams)


@pytest.mark.parametrize(
    ("shift", "reference", "decision", "head_start"),
    [(0.0, 0.5, 2.0, 1.5), (0.5, 0.0, 3.0, 1.5), (-1.0, 0.25, 3.0, 1.0), (0.0, 0.0, 3.0, 0.0)],
)
def test_two_sides_run_as_long_as_in_simulated_streams(shift, reference, decision, head_start):
    """Up to the edge of the condition: a reference of zero, and the highest head start."""
    options = {"reference": reference, "decision": decision, "head_start": head_start}

    mean, standard_error = simulated_cusum(shift, **options)

    length = charts.run_length_cusum(shift=shift, **options)
    assert standard_error < 0.01 * length
    assert length == pytest.approx(mean, abs=3.0 * standard_error)


@pytest.mark.parametrize(
    ("solve", "settings"),
    [
        (runlength_weighted.ewma_steady, (0.2, 2.962 / 3.0, 0.5)),
        (runlength_weighted.ewma_steady, (0.03, 2.437 * math.sqrt(0.03 / 1.97), 0.0)),
        (runlength_weighted.ewma_widening, (0.1, 2.814 * math.sqrt(0.1 / 1.9), 0.25)),
        (runlength_weighted.cusum_upper, (0.0, 0.5, 5.0, 2.5)),
        (runlength_weighted.cusum_both, (1.0, 0.5, 5.0, 2.5)),
        (runlength_weighted.cusum_both, (0.0, 0.25, 16.0, 0.0)),
    ],
)
def test_twice_the_nodes_change_nothing(solve, settings):
    few, more, most = (solve(nodes, *settings) for nodes in (40, 80, 160))

    assert few == pytest.approx(most, rel=1e-8)
    assert more == pytest.approx(most, rel=1e-12)


@pytest.mark.parametrize("steady", [True, False])
@pytest.mark.parametrize("shift", [0.0, 1.0, 3.0])
def test_an_ewma_of_the_newest_lot_alone_is_a_chart_of_single_lots(shift, steady):
    length = charts.run_length_ewma(weight=1.0, width=3.0, shift=shift, steady=steady)

    assert length == pytest.approx(charts.run_length(("beyond limits",), shift), rel=1e-10)


def test_a_sum_without_height_is_a_chart_of_single_lots():
    length = charts.run_length_cusum(reference=3.0, decision=1e-9, shift=0.5, sides=1)

    assert length == pytest.approx(1.0 / stats.norm.sf(2.5), rel=1e-7)


@pytest.mark.parametrize("shift", [0.3, 2.0])
def test_a_shift_down_is_noticed_as_soon_as_one_up(shift):
    for length in (
        lambda s: charts.run_length_ewma(weight=0.1, width=2.8, shift=s),
        lambda s: charts.run_length_ewma(weight=0.1, width=2.8, shift=s, steady=False),
        lambda s: charts.run_length_cusum(reference=0.5, decision=4.0, shift=s, head_start=1.0),
    ):
        assert length(-shift) == pytest.approx(length(shift), rel=1e-12)


def test_a_run_of_any_length_keeps_its_digits():
    """Without noise: with a height of 15 the sum waits for 1e13 lots, and a solver sees noise."""
    log_lengths = [
        math.log(charts.run_length_cusum(reference=1.0, decision=decision, sides=1))
        for decision in (12.0, 13.0, 14.0, 15.0)
    ]

    assert np.diff(log_lengths) == pytest.approx([2.0, 2.0, 2.0], abs=1e-6)


@pytest.mark.parametrize("shift", [100.0, -100.0])
def test_lots_far_out_are_met_at_once(shift):
    assert charts.run_length_ewma(weight=0.2, width=3.0, shift=shift) == 1.0
    assert charts.run_length_cusum(reference=0.5, decision=5.0, shift=shift) == 1.0
    assert charts.run_length_cusum(
        reference=0.5, decision=5.0, shift=shift, head_start=2.5
    ) == pytest.approx(1.0)


def test_sums_too_high_to_be_reached_never_signal():
    assert charts.run_length_cusum(reference=3.0, decision=120.0) == math.inf


@pytest.mark.parametrize(
    ("options", "fault"),
    [
        ({"weight": 0.0}, "weight"),
        ({"weight": 1.1}, "weight"),
        ({"weight": math.nan}, "weight"),
        ({"weight": 1e-6}, "1280 nodes"),
        ({"width": 0.0}, "width"),
        ({"width": math.inf}, "width"),
        ({"shift": math.nan}, "shift"),
    ],
)
def test_an_ewma_that_cannot_be_drawn_is_refused(options, fault):
    with pytest.raises(InvalidInput, match=rf"^run_length_ewma: .*{fault}"):
        charts.run_length_ewma(**({"weight": 0.2, "width": 3.0} | options))


@pytest.mark.parametrize(
    ("options", "fault"),
    [
        ({"reference": -0.1}, "reference"),
        ({"reference": math.inf}, "reference"),
        ({"decision": 0.0}, "decision"),
        ({"decision": 2000.0}, "1280 nodes"),
        ({"shift": math.inf}, "shift"),
        ({"sides": 3}, "3 sides"),
        ({"head_start": -1.0}, "head start"),
        ({"head_start": 3.1}, r"head start of 3\.1 .* between 0 and 3\."),
        ({"head_start": 5.1, "sides": 1}, "head start"),
    ],
)
def test_a_cusum_that_has_no_exact_run_length_is_refused(options, fault):
    with pytest.raises(InvalidInput, match=rf"^run_length_cusum: .*{fault}"):
        charts.run_length_cusum(**({"reference": 0.5, "decision": 5.0} | options))
