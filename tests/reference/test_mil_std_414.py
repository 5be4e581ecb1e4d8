"""MIL-STD-414 (11 June 1957), sampling by variables, and tables of the same family.

Table B-1 is from memory for AQL 0.04 and 15, letters J and L, and AQL 2.5 to 10 from letter G on;
the rest was seen in a university's copy of its successor, whose k are the same.
"""

import math

import numpy as np
import pytest
from scipy import stats

from spc.acceptance import Judgement, VariablesPlan, estimated_outside

AQL = [0.04, 0.065, 0.1, 0.15, 0.25, 0.4, 0.65, 1.0, 1.5, 2.5, 4.0, 6.5, 10.0, 15.0]

# Table B-1, normal inspection: letter, n, k as printed at each AQL (a dash is an arrow), and the
# chance of acceptance at the AQL that all k of a letter share.
PRINTED = [
    "B 3 - - - - - - - - - 1.12 0.958 0.765 0.566 0.341 0.89",
    "C 4 - - - - - - - 1.45 1.34 1.17 1.01 0.814 0.617 0.393 0.9",
    "D 5 - - - - - - 1.65 1.53 1.40 1.24 1.07 0.874 0.675 0.455 0.9",
    "E 7 - - - - 2.00 1.88 1.75 1.62 1.50 1.33 1.15 0.955 0.755 0.536 0.9",
    "F 10 - - - 2.24 2.11 1.98 1.84 1.72 1.58 1.41 1.23 1.03 0.828 0.611 0.9",
    "G 15 2.64 2.53 2.42 2.32 2.20 2.06 1.91 1.79 1.65 1.47 1.30 1.09 0.886 0.664 0.91",
    "H 20 2.69 2.58 2.47 2.36 2.24 2.11 1.96 1.82 1.69 1.51 1.33 1.12 0.917 0.695 0.92",
    "I 25 2.72 2.61 2.50 2.40 2.26 2.14 1.98 1.85 1.72 1.53 1.35 1.14 0.936 0.712 0.93",
    "J 30 2.73 2.61 2.51 2.41 2.28 2.15 2.00 1.86 1.73 1.55 1.36 1.15 0.946 0.723 0.94",
    "K 35 2.77 2.65 2.54 2.45 2.31 2.18 2.03 1.89 1.76 1.57 1.39 1.18 0.969 0.745 0.94",
    "L 40 2.77 2.66 2.55 2.44 2.31 2.18 2.03 1.89 1.76 1.58 1.39 1.18 0.971 0.746 0.95",
    "M 50 2.83 2.71 2.60 2.50 2.35 2.22 2.08 1.93 1.80 1.61 1.42 1.21 1.00 0.774 0.95",
    "N 75 2.90 2.77 2.66 2.55 2.41 2.27 2.12 1.98 1.84 1.65 1.46 1.24 1.03 0.804 0.96",
    "O 100 2.92 2.80 2.69 2.58 2.43 2.29 2.14 2.00 1.86 1.67 1.48 1.26 1.05 0.819 0.97",
    "P 150 2.96 2.84 2.73 2.61 2.47 2.33 2.18 2.03 1.89 1.70 1.51 1.29 1.07 0.841 0.98",
    "Q 200 2.97 2.85 2.73 2.62 2.47 2.33 2.18 2.04 1.89 1.70 1.51 1.29 1.07 0.845 0.99",
]

# The same from that chance, by an independent program, to four decimals.
EXACT = [
    "B 3 - - - - - - - - - 1.1220 0.9579 0.7653 0.5660 0.3405",
    "C 4 - - - - - - - 1.4552 1.3361 1.1734 1.0078 0.8149 0.6171 0.3964",
    "D 5 - - - - - - 1.6461 1.5245 1.4028 1.2369 1.0687 0.8737 0.6753 0.4562",
    "E 7 - - - - 2.0026 1.8805 1.7472 1.6217 1.4962 1.3257 1.1534 0.9549 0.7545 0.5358",
    "F 10 - - - 2.2381 2.1077 1.9816 1.8439 1.7145 1.5854 1.4102 1.2339 1.0315 0.8284 0.6085",
    (
        "G 15 2.6409 2.5278 2.4236 2.3220 2.1883 2.0591 1.9182 1.7858 1.6538 "
        "1.4751 1.2955 1.0900 0.8846 0.6634"
    ),
    (
        "H 20 2.6926 2.5778 2.4722 2.3691 2.2336 2.1026 1.9598 1.8258 1.6922 "
        "1.5115 1.3300 1.1227 0.9159 0.6936"
    ),
    (
        "I 25 2.7237 2.6079 2.5014 2.3975 2.2609 2.1288 1.9849 1.8499 1.7153 "
        "1.5334 1.3508 1.1423 0.9346 0.7117"
    ),
    (
        "J 30 2.7418 2.6255 2.5185 2.4141 2.2768 2.1441 1.9996 1.8640 1.7288 "
        "1.5462 1.3630 1.1538 0.9456 0.7224"
    ),
    (
        "K 35 2.7806 2.6630 2.5548 2.4493 2.3106 2.1765 2.0306 1.8936 1.7572 "
        "1.5729 1.3882 1.1775 0.9680 0.7437"
    ),
    (
        "L 40 2.7839 2.6662 2.5579 2.4523 2.3135 2.1794 2.0333 1.8963 1.7598 "
        "1.5754 1.3906 1.1798 0.9702 0.7459"
    ),
    (
        "M 50 2.8361 2.7168 2.6069 2.4998 2.3590 2.2230 2.0750 1.9362 1.7980 "
        "1.6113 1.4244 1.2115 1.0000 0.7742"
    ),
    (
        "N 75 2.8947 2.7734 2.6618 2.5530 2.4101 2.2720 2.1217 1.9809 1.8407 "
        "1.6516 1.4623 1.2469 1.0334 0.8057"
    ),
    (
        "O 100 2.9221 2.7999 2.6875 2.5779 2.4339 2.2948 2.1436 2.0018 1.8607 "
        "1.6704 1.4800 1.2635 1.0489 0.8204"
    ),
    (
        "P 150 2.9633 2.8398 2.7261 2.6153 2.4698 2.3292 2.1764 2.0331 1.8907 "
        "1.6986 1.5064 1.2881 1.0720 0.8422"
    ),
    (
        "Q 200 2.9690 2.8453 2.7314 2.6205 2.4747 2.3340 2.1810 2.0375 1.8949 "
        "1.7025 1.5102 1.2917 1.0754 0.8453"
    ),
]

# Table B-3, Form 2, from memory: M in per cent of code D (n = 5).
M_OF_D = {
    0.65: 1.33,
    1.0: 3.32,
    1.5: 5.83,
    2.5: 9.80,
    4.0: 14.39,
    6.5: 20.19,
    10.0: 26.56,
    15.0: 33.99,
}

# The same computed from the exact k, for codes C, D, E and F: n and M from the smallest AQL on.
M_COMPUTED = [
    (4, [1.49, 5.46, 10.89, 16.41, 22.84, 29.43, 36.79]),
    (5, [1.34, 3.33, 5.82, 9.80, 14.37, 20.19, 26.55, 33.94]),
    (7, [0.42, 1.05, 2.13, 3.54, 5.34, 8.40, 12.19, 17.34, 23.30, 30.50]),
    (10, [0.35, 0.71, 1.27, 2.14, 3.27, 4.72, 7.26, 10.53, 15.17, 20.73, 27.65]),
]


def _cells(rows):
    for row in rows:
        letter, n, *cells = row.split()
        for aql, cell in zip(AQL, cells, strict=False):
            if cell != "-":
                yield letter, int(n), aql, float(cell)


CHANCE = {row.split()[0]: float(row.split()[-1]) for row in PRINTED}


def constant(n, aql, chance):
    """k at which a lot at the AQL (in per cent) is accepted with a chance; by SciPy alone."""
    root = math.sqrt(n)
    return stats.nct.isf(chance, n - 1, root * stats.norm.isf(aql / 100.0)) / root


@pytest.mark.parametrize(("letter", "n", "aql", "k"), list(_cells(PRINTED)))
def test_printed_k_accept_a_lot_at_the_aql_as_often_as_their_letter_says(letter, n, aql, k):
    """Within one unit of the printed k's last digits: 0.016 at J, 0.065, elsewhere 0.01."""
    exact = constant(n, aql, CHANCE[letter])
    share = aql / 100.0

    assert k == pytest.approx(exact, abs=0.017)
    accepted = VariablesPlan(n=n, k=exact).acceptance_probability(share)
    assert accepted == pytest.approx(CHANCE[letter], abs=1e-9)
    assert VariablesPlan(n=n, k=k).acceptance_probability(share) == pytest.approx(
        CHANCE[letter], abs=0.013
    )


@pytest.mark.parametrize(("letter", "n", "aql", "k"), list(_cells(EXACT)))
def test_exact_k_are_those_noted(letter, n, aql, k):
    accepted = VariablesPlan(n=n, k=k).acceptance_probability(aql / 100.0)

    assert constant(n, aql, CHANCE[letter]) == pytest.approx(k, abs=5.1e-5)
    assert accepted == pytest.approx(CHANCE[letter], abs=5e-5)


class TestWorkedExample:
    """Lot of 40, level IV, AQL 1 %: code D, n = 5, k = 1.53, M = 3.33 %; limits 180 and 209.

    The lower limit was seen in lecture material; the upper one is from memory.
    """

    SAMPLE = (197.0, 188.0, 184.0, 205.0, 201.0)
    PLAN = VariablesPlan(n=5, k=1.53)

    @pytest.fixture
    def judged(self) -> Judgement:
        return self.PLAN.judge(self.SAMPLE, lower=180.0, upper=209.0)

    def test_mean_spread_and_indices_are_the_printed_ones(self, judged):
        assert judged.mean == 195.0
        assert judged.sigma == pytest.approx(8.80, abs=5e-3)
        assert judged.sigma == pytest.approx(8.803408430829505)
        assert judged.quality_lower == pytest.approx(1.70, abs=5e-3)
        assert judged.quality_upper == pytest.approx(1.59, abs=5e-3)
        assert judged.quality_lower == pytest.approx(1.7038856, abs=1e-7)
        assert judged.quality_upper == pytest.approx(1.5902931, abs=5e-8)

    def test_estimated_shares_are_the_exact_ones_and_near_the_printed_ones(self, judged):
        """The standard reads its table at Q rounded to two decimals."""
        assert 100.0 * judged.outside_upper == pytest.approx(2.1823118, abs=1.2e-7)
        assert 100.0 * judged.outside_lower == pytest.approx(0.6168969, abs=1.2e-7)
        assert 100.0 * judged.estimated_outside == pytest.approx(2.7992086, abs=1.2e-7)
        assert 100.0 * estimated_outside(1.59, n=5) == pytest.approx(2.19, abs=5e-3)
        assert 100.0 * estimated_outside(1.70, n=5) == pytest.approx(0.66, abs=5e-3)
        assert 100.0 * estimated_outside(1.59, n=5) == pytest.approx(2.1870904, abs=1.2e-7)
        assert 100.0 * estimated_outside(1.70, n=5) == pytest.approx(0.6594732, abs=1.2e-7)
        assert 100.0 * judged.estimated_outside == pytest.approx(2.85, abs=0.06)

    def test_the_lot_is_accepted_by_each_limit_and_by_both(self, judged):
        assert judged.accepted
        assert self.PLAN.judge(self.SAMPLE, lower=180.0).accepted
        assert self.PLAN.judge(self.SAMPLE, upper=209.0).accepted

    def test_the_second_value_of_the_table_of_shares(self):
        """Q = 1.48 printed 4.22 %; tables carry an error of a few hundredths of a per cent."""
        assert 100.0 * estimated_outside(1.48, n=5) == pytest.approx(4.22, abs=0.05)
        assert 100.0 * estimated_outside(1.48, n=5) == pytest.approx(4.193, abs=5e-4)


def test_the_resistance_example_is_rejected():
    """From memory: n = 10, k = 1.98, lower limit 620 ohm, AQL 0.4 %."""
    sample = [643, 651, 619, 627, 658, 670, 673, 641, 638, 650]

    judged = VariablesPlan(n=10, k=1.98).judge(sample, lower=620.0)

    assert judged.mean == 647.0
    assert judged.quality_lower == pytest.approx(1.5681662626)
    assert 100.0 * judged.estimated_outside == pytest.approx(4.9391589, abs=5e-8)
    assert not judged.accepted


def test_the_castings_example_with_sigma_known_is_rejected():
    """From memory: n = 10, k = 1.70, sigma 3000 psi, lower limit 58 000 psi, AQL 1.5 %."""
    sample = [62500, 60500, 68000, 59000, 65500, 62000, 61000, 69000, 58000, 64500]
    plan = VariablesPlan(n=10, k=1.70, sigma_known=True)

    judged = plan.judge(sample, lower=58_000.0, sigma=3_000.0)

    assert judged.mean == 63_000.0
    assert judged.quality_lower == pytest.approx(1.6666667, abs=5e-8)
    assert not judged.accepted
    assert plan.acceptance_probability(0.015) == pytest.approx(0.931, abs=5e-4)


@pytest.mark.parametrize(("aql", "printed"), M_OF_D.items())
def test_the_largest_share_of_code_d_is_the_one_of_table_b_3(aql, printed):
    """Printed from k before it was rounded; that k is the exact one within 0.06 %."""
    plan = VariablesPlan(n=5, k=constant(5, aql, 0.90))

    assert 100.0 * plan.most_outside == pytest.approx(printed, abs=0.06)


@pytest.mark.parametrize(("n", "printed"), M_COMPUTED)
def test_the_largest_shares_follow_from_the_exact_k(n, printed):
    """Chance of acceptance 0.90 for codes C to F; the same rule by an independent program."""
    plans = [VariablesPlan(n=n, k=constant(n, aql, 0.90)) for aql in AQL[-len(printed) :]]

    assert [100.0 * plan.most_outside for plan in plans] == pytest.approx(printed, abs=5.1e-3)


def test_the_plan_of_the_measuring_instruments_is_that_of_letter_k():
    """OIML R 138:2007, Annex A: n = 35, k = 1.57 at AQL 2.5 %."""
    assert constant(35, 2.5, 0.94) == pytest.approx(1.57, abs=5e-3)
    assert constant(35, 2.5, 0.94) == pytest.approx(1.5729, abs=5.1e-5)


class TestFiveBagsOfChilli:
    """Two lots of equal mean, lower limit 38 000 SHU, AQL 2.5 %: k = 1.24 (worked by us)."""

    PLAN = VariablesPlan(n=5, k=1.24)

    def test_an_even_lot_is_accepted(self):
        judged = self.PLAN.judge([41_200, 43_900, 39_800, 45_100, 42_600], lower=38_000.0)

        assert judged.mean == 42_520.0
        assert judged.sigma == pytest.approx(2104.04, abs=5e-3)
        assert judged.quality_lower == pytest.approx(2.148, abs=5e-4)
        assert judged.accepted

    def test_an_uneven_one_is_not(self):
        judged = self.PLAN.judge([41_200, 46_900, 37_800, 47_100, 39_600], lower=38_000.0)

        assert judged.mean == 42_520.0
        assert judged.sigma == pytest.approx(4263.0, abs=0.5)
        assert judged.quality_lower == pytest.approx(1.060, abs=5e-4)
        assert not judged.accepted


def test_tightened_inspection_is_the_normal_one_of_the_next_smaller_aql():
    """So a lot at the AQL is accepted less often; letter F at AQL 1.0 and 0.65."""
    normal = VariablesPlan(n=10, k=1.72).acceptance_probability(np.array([0.01]))
    tightened = VariablesPlan(n=10, k=1.84).acceptance_probability(np.array([0.01]))

    assert tightened < normal
