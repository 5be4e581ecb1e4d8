"""Average run lengths of EWMA charts, exact and as printed.

Lucas, J. M. and Saccucci, M. S. (1990), Exponentially weighted moving average control schemes:
properties and enhancements, Technometrics 32(1), 1-12: steady limits, weighted mean begun at
the target, pairs of weight and width that run 500 lots without a shift.  The printed figures
are recalled, not re-read; the exact ones come from a quadrature and a chain written apart.
"""

import csv
from io import StringIO

import pytest

from spc import charts

# Columns: weight (l) and width (L); rows: shift in sigmas of a lot.
PRINTED = """\
d,l0.40_L3.054,l0.25_L2.998,l0.20_L2.962,l0.10_L2.814,l0.05_L2.615
0,500,500,500,500,500
0.25,224,170,150,106,84.1
0.50,71.2,48.2,41.8,31.3,28.8
0.75,28.4,20.1,18.2,15.9,16.4
1.00,14.3,11.1,10.5,10.3,11.4
1.50,5.9,5.5,5.5,6.1,7.1
2.00,3.5,3.6,3.7,4.4,5.2
2.50,2.5,2.7,2.9,3.4,4.2
3.00,2.0,2.3,2.4,2.9,3.5
4.00,1.4,1.7,1.9,2.2,2.7
"""

EXACT = """\
d,l0.4_L3.054,l0.25_L2.998,l0.2_L2.962,l0.1_L2.814,l0.05_L2.615
0.00,499.95134,499.83600,499.73512,499.57955,499.93301
0.25,223.72781,170.29585,150.21640,106.32185,84.00586
0.50,71.20050,48.29388,41.76440,31.29744,28.76373
0.75,28.41838,20.11475,18.14962,15.84754,16.37415
1.00,14.26276,11.13550,10.54167,10.33067,11.38280
1.25,8.57551,7.37972,7.24572,7.64551,8.73899
1.50,5.87494,5.46374,5.50065,6.08418,7.11249
1.75,4.40734,4.34013,4.44422,5.07053,6.01442
2.00,3.52154,3.61371,3.74344,4.36225,5.22488
2.25,2.94222,3.11060,3.24761,3.84088,4.63072
2.50,2.53915,2.74475,2.88027,3.44170,4.16786
2.75,2.24428,2.46958,2.59945,3.12582,3.79765
3.00,2.01863,2.25756,2.38090,2.86800,3.49617
3.25,1.83807,2.09037,2.20940,2.65178,3.24796
3.50,1.68706,1.95381,2.07342,2.46830,3.04046
3.75,1.55598,1.83588,1.96204,2.31517,2.86024
4.00,1.43990,1.72703,1.86437,2.19310,2.69455
"""

# Weight, width, then the run length at each shift, with limits that widen lot by lot.
WIDENING = """\
lambda,L,d=0,d=0.25,d=0.5,d=0.75,d=1,d=1.5,d=2,d=3
0.4,3.054,498.0646,222.5504,70.4903,27.8998,13.8350,5.5113,3.1662,1.6647
0.25,2.998,495.9188,168.2800,47.1431,19.2500,10.3805,4.7671,2.9337,1.6154
0.2,2.962,494.3857,147.7032,40.3394,17.0493,9.5545,4.5778,2.8600,1.5914
0.1,2.814,486.4293,101.6196,28.5124,13.5021,8.1570,4.1491,2.6440,1.5047
0.05,2.615,469.4799,75.3776,23.2212,11.6589,7.1950,3.7169,2.3960,1.4017
"""

# Pairs of weight and width, and what they run without a shift.
TUNED = [
    (1.0, 3.09, 499.609),
    (0.75, 3.087, 499.252),
    (0.5, 3.071, 499.906),
    (0.4, 3.054, 499.951),
    (0.3, 3.023, 499.961),
    (0.25, 2.998, 499.836),
    (0.2, 2.962, 499.735),
    (0.1, 2.814, 499.580),
    (0.05, 2.615, 499.933),
    (0.03, 2.437, 499.859),
]


def cells(table):
    for row in csv.DictReader(StringIO(table)):
        shift = float(row.pop("d"))
        for name, value in row.items():
            weight, width = (float(part[1:]) for part in name.split("_"))
            yield pytest.param(weight, width, shift, float(value), id=f"{name}-{shift}")


def widening_cells():
    for row in csv.DictReader(StringIO(WIDENING)):
        weight, width = float(row.pop("lambda")), float(row.pop("L"))
        for name, value in row.items():
            yield pytest.param(weight, width, float(name[2:]), float(value), id=f"{weight}-{name}")


@pytest.mark.parametrize(("weight", "width", "shift", "exact"), list(cells(EXACT)))
def test_the_integral_equation_agrees_with_one_written_apart(weight, width, shift, exact):
    length = charts.run_length_ewma(weight=weight, width=width, shift=shift)

    assert length == pytest.approx(exact, abs=5.1e-6)


@pytest.mark.parametrize(("weight", "width", "shift", "printed"), list(cells(PRINTED)))
def test_run_lengths_are_those_of_the_paper(weight, width, shift, printed):
    """Four cells are printed one unit off in their last digit: half a unit and 0.5 %."""
    unit = 0.1 if printed < 100.0 else 1.0

    length = charts.run_length_ewma(weight=weight, width=width, shift=shift)

    assert length == pytest.approx(printed, abs=0.5 * unit + 0.005 * printed)


@pytest.mark.parametrize(("weight", "width", "exact"), TUNED)
def test_the_published_pairs_run_five_hundred_lots(weight, width, exact):
    assert charts.run_length_ewma(weight=weight, width=width) == pytest.approx(exact, abs=5.1e-4)


@pytest.mark.parametrize(("weight", "width", "shift", "exact"), list(widening_cells()))
def test_limits_that_widen_signal_sooner_by_as_much_as_computed_apart(weight, width, shift, exact):
    length = charts.run_length_ewma(weight=weight, width=width, shift=shift, steady=False)

    assert length == pytest.approx(exact, abs=5.1e-5)
