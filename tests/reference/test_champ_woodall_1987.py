"""Average run lengths of charts with run rules, exact and as printed.

Champ, C. W. and Woodall, W. H. (1987), Exact results for Shewhart control charts with
supplementary runs rules, Technometrics 29(4), 393-399, Table 1.  C123 is the set of rules 1,
2 and 3 of the paper: beyond limits, two of three far out, four of five out, eight on one side.
The exact figures come from a chain written apart from the one under test, to five decimals.
"""

import csv
from io import StringIO

import numpy as np
import pytest

from spc import charts

NUMBERED = {
    "1": "beyond limits",
    "2": "two of three far out",
    "3": "four of five out",
    "4": "eight on one side",
}

PRINTED = """\
d,C1,C12,C13,C14,C123,C124,C134,C1234
0.0,370.40,225.44,166.05,152.73,132.89,122.05,105.78,91.75
0.2,308.43,177.56,120.70,110.52,97.86,89.14,76.01,66.80
0.4,200.08,104.46,63.88,59.76,52.93,48.71,40.95,36.61
0.6,119.67,57.92,33.99,33.64,28.70,27.49,23.15,20.90
0.8,71.55,33.12,19.78,21.07,16.93,17.14,14.62,13.25
1.0,43.89,20.01,12.66,14.58,10.95,11.73,10.19,9.22
1.2,27.82,12.81,8.84,10.90,7.68,8.61,7.66,6.89
1.4,18.25,8.69,6.62,8.60,5.76,6.63,6.08,5.41
1.6,12.38,6.21,5.24,7.03,4.54,5.27,5.01,4.41
1.8,8.69,4.66,4.33,5.85,3.73,4.27,4.24,3.68
2.0,6.30,3.65,3.68,4.89,3.14,3.50,3.65,3.13
2.2,4.72,2.96,3.18,4.08,2.70,2.91,3.17,2.70
2.4,3.65,2.48,2.78,3.38,2.35,2.47,2.77,2.35
2.6,2.90,2.13,2.43,2.81,2.07,2.13,2.43,2.07
2.8,2.38,1.87,2.14,2.35,1.85,1.87,2.14,1.85
3.0,2.00,1.68,1.89,1.99,1.67,1.68,1.89,1.67
"""

EXACT = """\
d,C1,C12,C13,C14,C123,C124,C134,C1234
0.0,370.39835,225.43841,166.05452,152.73007,132.89281,122.05077,105.78307,91.75077
0.2,308.42605,177.55503,120.69584,110.51704,97.86400,89.14174,76.01081,66.80272
0.4,200.07534,104.45594,63.88456,59.75968,52.93351,48.71110,40.94602,36.60600
0.6,119.66526,57.92035,33.99468,33.63602,28.69554,27.48913,23.15584,20.90507
0.8,71.55228,33.12433,19.77531,21.07379,16.93372,17.14418,14.62102,13.25059
1.0,43.89468,20.00504,12.66439,14.57813,10.95138,11.72584,10.18747,9.22186
1.2,27.82131,12.81341,8.83567,10.89621,7.67949,8.60676,7.65757,6.89193
1.4,18.24661,8.68910,6.61872,8.60405,5.75499,6.63286,6.07997,5.41859
1.6,12.38256,6.21293,5.24376,7.03341,4.54200,5.27112,5.01412,4.41197
1.8,8.69033,4.66010,4.33086,5.85131,3.72525,4.26780,4.24226,3.68130
2.0,6.30296,3.64636,3.68012,4.89071,3.14021,3.50215,3.64994,3.12760
2.2,4.72020,2.95979,3.18195,4.07616,2.69840,2.91426,3.17306,2.69540
2.4,3.64627,2.47886,2.77647,3.38291,2.35177,2.46679,2.77424,2.35119
2.6,2.90210,2.13133,2.43305,2.80753,2.07380,2.12870,2.43257,2.07371
2.8,2.37676,1.87291,2.13804,2.34751,1.84890,1.87244,2.13795,1.84889
3.0,2.00000,1.67577,1.88647,1.99233,1.66661,1.67570,1.88645,1.66661
"""

# One rule used alone: the zones that it counts in are then open to the outside.
ALONE = """\
d,C2,C3,C4
0.0,510.68851,291.31925,255.00000
0.2,364.74864,190.13037,167.46981
0.4,184.84186,88.49712,81.44514
0.6,91.91439,43.87187,43.68630
0.8,48.72653,24.60020,26.98141
1.0,27.87546,15.48881,18.80153
1.2,17.17994,10.77504,14.41783
1.4,11.35030,8.14802,11.90433
1.6,7.98973,6.59854,10.39553
1.8,5.95376,5.64741,9.46515
2.0,4.66667,5.04855,8.88522
2.2,3.82402,4.66620,8.52464
2.4,3.25703,4.42069,8.30336
2.6,2.86785,4.26306,8.17044
2.8,2.59723,4.16227,8.09277
3.0,2.40784,4.09836,8.04882
"""


def cells(table):
    for row in csv.DictReader(StringIO(table)):
        shift = float(row.pop("d"))
        for name, value in row.items():
            rules = [NUMBERED[number] for number in name[1:]]
            yield pytest.param(rules, shift, float(value), id=f"{name}-{shift}")


@pytest.mark.parametrize(("rules", "shift", "exact"), [*cells(EXACT), *cells(ALONE)])
def test_the_chain_agrees_with_one_written_apart(rules, shift, exact):
    assert charts.run_length(rules, shift) == pytest.approx(exact, abs=5.1e-6)


@pytest.mark.parametrize(("rules", "shift", "printed"), list(cells(PRINTED)))
def test_the_chain_agrees_with_table_1_as_printed(rules, shift, printed):
    """Four of the 128 cells are printed one unit off in their last digit: 0.011, not 0.005."""
    assert charts.run_length(rules, shift) == pytest.approx(printed, abs=0.011)


@pytest.mark.parametrize(
    ("rules", "shift"),
    [
        (("beyond limits", "two of three far out", "four of five out", "eight on one side"), 0.0),
        (("beyond limits", "four of five out", "nine on one side"), 0.6),
        (("beyond limits", "eight avoiding the centre", "fifteen hugging the centre"), 0.3),
    ],
)
def test_forty_thousand_streams_judged_by_the_rules_run_as_long_as_the_chain_says(rules, shift):
    simulated = charts.run_length_simulated(
        rules, shift, generator=np.random.default_rng(1987), streams=40_000, longest=10_000
    )

    exact = charts.run_length(rules, shift)
    assert simulated.censored == 0
    assert simulated.standard_error < 0.006 * exact
    assert simulated.mean == pytest.approx(exact, abs=3.0 * simulated.standard_error)
