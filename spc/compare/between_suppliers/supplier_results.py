"""What a comparison of suppliers tells."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spc.charts.lots import Scale
from spc.compare.between_suppliers.anova import FTest, SimulatedTest
from spc.compare.between_suppliers.pairs import Pairs
from spc.compare.between_suppliers.ranking import Ranking
from spc.compare.skewed.ranks import RankTest

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SupplierEstimates:
    """One number a supplier; NaN for suppliers with too few lots.

    Attributes
    ----------
    mean : shape (suppliers,)
        Of its own lots, in their unit; on log scale the geometric mean.
    shrunken_mean : shape (suppliers,)
        The same drawn towards the mean of all suppliers, by as much as its own is uncertain.
    weight : shape (suppliers,)
        What part of the shrunken mean is the supplier's own.
    standard_deviation : shape (suppliers,)
        Between its lots, less what the stated uncertainty of their values puts in: in their unit,
        on log scale of natural logarithms.
    shrunken_standard_deviation : shape (suppliers,)
        The same drawn towards that of all suppliers.
    cv : shape (suppliers,)
        Coefficient of variation between its lots, less the same; NaN also where the mean is not
        above zero.
    """

    mean: Floats
    shrunken_mean: Floats
    weight: Floats
    standard_deviation: Floats
    shrunken_standard_deviation: Floats
    cv: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SupplierIntervals:
    """Lower and upper ends of the estimates of the same name.

    Attributes
    ----------
    mean, shrunken_mean, standard_deviation, shrunken_standard_deviation, cv : shape (suppliers, 2)
        Each supplier's holds by itself with the stated confidence.
    """

    mean: Floats
    shrunken_mean: Floats
    standard_deviation: Floats
    shrunken_standard_deviation: Floats
    cv: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelTests:
    """Whether suppliers differ in level.

    Attributes
    ----------
    welch
        Each supplier with its own spread: the test to go by.
    simulated
        His statistic with its chance drawn, which also holds for many suppliers with few lots.
    classic
        The F of equal spreads, exact for those; others move it little while `balanced`.
    ranks
        Kruskal and Wallis's test, which no shape of the values misleads.
    balanced
        Whether all suppliers compared have equally many lots.
    """

    welch: FTest
    simulated: SimulatedTest
    classic: FTest
    ranks: RankTest
    balanced: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SupplierComparison:
    """What the lots say of their suppliers, and what they do not.

    Attributes
    ----------
    supplier : length suppliers
        Names, in order.
    lots : shape (suppliers,)
        How many each has.
    enough : shape (suppliers,)
        Whether it has three lots that are not all equal; nothing is said of one that has not.
    enough_for_consistency : shape (suppliers,)
        Whether it has five of them, and so is compared for consistency.
    estimates, intervals
        Of each supplier: from its own lots, and drawn towards all.
    between_suppliers
        Standard deviation of the suppliers' true means by restricted maximum likelihood: in their
        unit, on log scale of natural logarithms; NaN with fewer than three suppliers.
    levels
        Do suppliers differ in level; None with fewer than two that have enough lots.
    consistency
        Do suppliers differ in consistency, by Brown and Forsythe's test; None with fewer than two
        that have enough lots for that.
    pairs
        Every two suppliers with enough lots; `first` and `second` are positions in `supplier`.
    ranking
        Chance of each to be the most consistent, and of its next lot to lie inside the limits.
    reasons
        Sentences on what is withheld or weak, and why.
    scale, confidence
        As asked for.
    equivalence_margin
        As asked for; NaN without one.
    """

    supplier: tuple[str, ...]
    lots: NDArray[np.int64]
    enough: NDArray[np.bool_]
    enough_for_consistency: NDArray[np.bool_]
    estimates: SupplierEstimates
    intervals: SupplierIntervals
    between_suppliers: float
    levels: LevelTests | None
    consistency: FTest | None
    pairs: Pairs
    ranking: Ranking
    reasons: tuple[str, ...]
    scale: Scale
    confidence: float
    equivalence_margin: float
