"""Average run lengths of CUSUM charts, exact and as printed; slack of half a sigma throughout.

Montgomery, D. C. and Runger, G. C., Applied Statistics and Probability for Engineers, table of
CUSUM run lengths (two sides, printed to three figures).  Lucas, J. M. and Crosier, R. B. (1982),
Fast initial response for CUSUM quality-control schemes, Technometrics 24(3), 199-205 (recalled,
not re-read).  NIST/SEMATECH e-Handbook, section 6.3.2.3.1.  The exact figures come from a
quadrature and a chain written apart.
"""

import csv
import math
from io import StringIO

import pytest

from spc import charts

# Shift, then decision heights of four and five sigmas.
PRINTED = """\
d,h4_printed,h5_printed
0,168,465
0.25,74.2,139
0.50,26.6,38.0
0.75,13.3,17.0
1.00,8.38,10.4
1.50,4.75,5.75
2.00,3.34,4.01
2.50,2.62,3.11
3.00,2.19,2.57
4.00,1.71,2.01
"""

# FIR: both sums begin at half of the decision height.
EXACT = """\
d,h4,h5,h4_FIR2,h5_FIR2.5,onesided_h4,onesided_h5
0.00,167.68379,465.44351,148.69565,430.39084,335.36758,930.88701
0.25,74.22403,139.49369,62.69824,121.68794,77.07852,141.68775
0.50,26.63020,37.99614,20.06396,28.66583,26.67916,38.00961
0.75,13.28509,17.04833,8.96798,11.23583,13.28660,17.04853
1.00,8.38313,10.37597,5.28689,6.34685,8.38320,10.37598
1.25,6.06019,7.39328,3.69920,4.38189,6.06019,7.39328
1.50,4.74717,5.74722,2.86204,3.37195,4.74717,5.74722
1.75,3.91401,4.71396,2.35415,2.76545,3.91401,4.71396
2.00,3.34277,4.00887,2.01437,2.36229,3.34277,4.00887
2.25,2.92960,3.49888,1.77040,2.07420,2.92960,3.49888
2.50,2.61952,3.11369,1.58581,1.85617,2.61952,3.11369
2.75,2.38106,2.81306,1.44103,1.68289,2.38106,2.81306
3.00,2.19448,2.57325,1.32539,1.53964,2.19448,2.57325
3.25,2.04546,2.38067,1.23311,1.41831,2.04546,2.38067
3.50,1.92172,2.22747,1.16090,1.31514,1.92172,2.22747
3.75,1.81228,2.10737,1.10635,1.22893,1.81228,2.10737
4.00,1.70846,2.01257,1.06700,1.15937,1.70846,2.01257
"""
COLUMNS = {
    "h4": {"decision": 4.0},
    "h5": {"decision": 5.0},
    "h4_FIR2": {"decision": 4.0, "head_start": 2.0},
    "h5_FIR2.5": {"decision": 5.0, "head_start": 2.5},
    "onesided_h4": {"decision": 4.0, "sides": 1},
    "onesided_h5": {"decision": 5.0, "sides": 1},
    "h4_printed": {"decision": 4.0},
    "h5_printed": {"decision": 5.0},
}

# Shift, then the run lengths with head starts of half the height, as Lucas and Crosier print.
HEAD_STARTS = [
    (0.0, 149, 430),
    (0.25, 62.7, 122),
    (0.5, 20.1, 28.7),
    (0.75, 8.97, 11.2),
    (1.0, 5.29, 6.35),
    (1.5, 2.86, 3.37),
    (2.0, 2.01, 2.36),
    (2.5, 1.59, 1.86),
    (3.0, 1.32, 1.54),
    (4.0, 1.07, 1.16),
]


def cells(table):
    for row in csv.DictReader(StringIO(table)):
        shift = float(row.pop("d"))
        for name, value in row.items():
            yield pytest.param(COLUMNS[name], shift, float(value), id=f"{name}-{shift}")


def half_a_unit(printed, figures=3):
    return 0.5 * 10.0 ** (math.floor(math.log10(printed)) + 1 - figures) * (1.0 + 1e-9)


@pytest.mark.parametrize(("options", "shift", "exact"), list(cells(EXACT)))
def test_the_integral_equation_agrees_with_one_written_apart(options, shift, exact):
    length = charts.run_length_cusum(reference=0.5, shift=shift, **options)

    assert length == pytest.approx(exact, abs=5.1e-6)


@pytest.mark.parametrize(("options", "shift", "printed"), list(cells(PRINTED)))
def test_two_sides_run_as_long_as_the_textbook_prints(options, shift, printed):
    length = charts.run_length_cusum(reference=0.5, shift=shift, **options)

    assert length == pytest.approx(printed, abs=half_a_unit(printed))


@pytest.mark.parametrize(("shift", "four", "five"), HEAD_STARTS)
def test_head_starts_run_as_long_as_lucas_and_crosier_print(shift, four, five):
    """1.32 stands for 1.3254, a tenth beyond its half unit; the rest are rounded rightly."""
    for decision, printed in ((4.0, four), (5.0, five)):
        length = charts.run_length_cusum(
            reference=0.5, decision=decision, shift=shift, head_start=decision / 2.0
        )

        assert length == pytest.approx(printed, abs=1.1 * half_a_unit(printed))


@pytest.mark.parametrize(("decision", "printed"), [(4.0, 336), (5.0, 930)])
def test_one_side_runs_as_long_as_the_handbook_prints(decision, printed):
    """The handbook doubles the rounded two-sided 168, and truncates 930.9: half a per cent."""
    length = charts.run_length_cusum(reference=0.5, decision=decision, sides=1)

    assert length == pytest.approx(printed, rel=0.005)


@pytest.mark.parametrize(("decision", "printed"), [(4.0, 8.38), (5.0, 10.4)])
def test_one_sigma_is_noticed_as_soon_as_the_handbook_prints(decision, printed):
    length = charts.run_length_cusum(reference=0.5, decision=decision, shift=1.0)

    assert length == pytest.approx(printed, abs=half_a_unit(printed))


@pytest.mark.parametrize("decision", [4.0, 5.0])
@pytest.mark.parametrize("shift", [0.0, 0.25, 1.0])
def test_siegmunds_approximation_is_within_one_per_cent(decision, shift):
    """Siegmund, D. (1985), Sequential Analysis, Springer: exp(-2 d b) + 2 d b - 1 over 2 d^2."""
    drift, height = shift - 0.5, decision + 1.166
    siegmund = (math.exp(-2.0 * drift * height) + 2.0 * drift * height - 1.0) / (2.0 * drift**2)

    length = charts.run_length_cusum(reference=0.5, decision=decision, shift=shift, sides=1)

    assert length == pytest.approx(siegmund, rel=0.01)


@pytest.mark.parametrize(
    ("reference", "decision", "exact"),
    [
        (0.25, 8.01, 370.332),
        (0.5, 4.77, 368.561),
        (0.75, 3.34, 370.574),
        (1.0, 2.52, 372.815),
        (1.25, 1.99, 373.541),
        (1.5, 1.61, 376.34),
    ],
)
def test_pairs_tuned_to_three_sigma_limits_run_about_370_lots(reference, decision, exact):
    """Hawkins, D. M. (1993), Journal of Quality Technology 25(4): heights to two decimals."""
    length = charts.run_length_cusum(reference=reference, decision=decision)

    assert length == pytest.approx(exact, abs=5.1e-4 if exact != 376.34 else 5.1e-3)
