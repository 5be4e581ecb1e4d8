"""Suppliers of one material against each other: level, consistency, and the odds of both."""

import math
from typing import Final

import numpy as np
import pandas as pd

from spc.charts.lots import Scale
from spc.charts.refusals import refuse_outside
from spc.compare.between_suppliers.anova import (
    FTest,
    brown_forsythe,
    one_way,
    welch,
    welch_simulated,
)
from spc.compare.between_suppliers.consistency import FEWEST_FOR_CONSISTENCY
from spc.compare.between_suppliers.lots_by_supplier import GroupedLots
from spc.compare.between_suppliers.pairs import pairs
from spc.compare.between_suppliers.ranking import DrawnSuppliers, ranking
from spc.compare.between_suppliers.shrunken_means import shrunken_means
from spc.compare.between_suppliers.shrunken_spreads import shrunken_spreads
from spc.compare.between_suppliers.supplier_reasons import FEWEST_LOTS, supplier_reasons
from spc.compare.between_suppliers.supplier_results import LevelTests, SupplierComparison
from spc.compare.between_suppliers.supplier_table import lots_of_table
from spc.compare.between_suppliers.supplier_view import SupplierView
from spc.compare.skewed.ranks import kruskal_wallis
from spc.errors import InvalidInput

FEWEST_DRAWS: Final = 100
SUREST: Final = 1.0 - 1e-6
DRAWS: Final = 20_000
SEED: Final = 1951


def suppliers(  # noqa: PLR0913 - a table, its scale, and what is asked of it
    frame: pd.DataFrame,
    *,
    scale: Scale = "linear",
    lower: float | None = None,
    upper: float | None = None,
    equivalence_margin: float | None = None,
    confidence: float = 0.95,
    draws: int = DRAWS,
    seed: int = SEED,
) -> SupplierComparison:
    """Compare the suppliers of one material by one characteristic, one value a lot.

    Parameters
    ----------
    frame
        One row a lot: columns `supplier` and `value`, in one unit; and, where known, `uncertainty`,
        the part of each value's standard uncertainty that lots do not share: in the unit, on log
        scale as a share of the value.  Other columns do not count, nor does the order of the rows.
    scale
        Whether values are compared as they are, or by their logarithms: then differences are ratios
        and means geometric.
    lower, upper
        Limits for a lot, in the unit of the values.
    equivalence_margin
        Largest difference of two means that does not matter: in the unit; on log scale a share, so
        that 0.1 stands for ratios from 1/1.1 to 1.1.
    confidence
        Of every interval, above a half and below 0.999999; one less it is the risk of the verdicts
        on pairs.
    draws, seed
        Of the simulated chances; the same seed gives the same result.

    Returns
    -------
    SupplierComparison
        In the unit of the values.

    Raises
    ------
    InvalidInput
        If a column or a supplier's name is missing, a value is not a finite number, an uncertainty
        is negative, no lot can lie within the limits, or a setting is out of range.
    NotPositive
        If a value on log scale is zero or negative.

    Notes
    -----
    Lots are taken as independent and, on the scale, normal.  A stated uncertainty is taken out of
    the spreads between lots, not out of the doubt about means.  Consistency is compared on the
    scale: by the standard deviation on linear scale, and by the one of the logarithms, which the
    coefficient of variation rises with, on log scale.  Further sources stand with the parts:
    `anova`, `pairs`, `consistency`, `shrunken_means`, `shrunken_spreads` and `ranking`.

    References
    ----------
    Welch, B. L. (1951), Biometrika 38, 330-336 (levels).
    Brown, M. B. and Forsythe, A. B. (1974), Journal of the American Statistical Association 69,
    364-367 (consistency).
    Games, P. A. and Howell, J. F. (1976), Journal of Educational Statistics 1, 113-125 (pairs).
    """
    _check(confidence, draws, equivalence_margin)
    names, groups = lots_of_table(frame, scale=scale)
    limits = _limits(lower, upper, scale=scale, origin=groups.origin)
    enough = (groups.lots >= FEWEST_LOTS) & groups.spread
    for_consistency = enough & (groups.lots >= FEWEST_FOR_CONSISTENCY)
    drawn = _drawn(groups.of(enough))
    margin = math.nan if equivalence_margin is None else equivalence_margin
    on_scale = math.log1p(margin) if scale == "log" else margin
    view = SupplierView(scale=scale, enough=enough, confidence=confidence)
    estimates, intervals = view.estimates(drawn)
    return SupplierComparison(
        supplier=names,
        lots=groups.lots,
        enough=enough,
        enough_for_consistency=for_consistency,
        estimates=estimates,
        intervals=intervals,
        between_suppliers=drawn.means.between,
        levels=_levels(drawn.groups, draws=draws, seed=seed),
        consistency=_consistency(groups.of(for_consistency)),
        pairs=view.pairs(pairs(drawn.groups, margin=on_scale, confidence=confidence)),
        ranking=view.ranking(ranking(drawn, limits=limits, draws=draws, seed=seed)),
        reasons=supplier_reasons(names, groups, enough),
        scale=scale,
        confidence=confidence,
        equivalence_margin=margin,
    )


def _drawn(groups: GroupedLots) -> DrawnSuppliers:
    """Spreads first: how uncertain a mean is rests on them."""
    borrowed = shrunken_spreads(groups)
    means = shrunken_means(groups.mean, borrowed.variance / groups.lots)
    return DrawnSuppliers(groups=groups, spreads=borrowed, means=means)


def _levels(groups: GroupedLots, *, draws: int, seed: int) -> LevelTests | None:
    if groups.lots.size < 2:
        return None
    return LevelTests(
        ranks=kruskal_wallis(groups.value, np.repeat(np.arange(groups.lots.size), groups.lots)),
        welch=welch(groups),
        simulated=welch_simulated(groups, draws=draws, generator=np.random.default_rng(seed)),
        classic=one_way(groups),
        balanced=bool((groups.lots == groups.lots[0]).all()),
    )


def _consistency(groups: GroupedLots) -> FTest | None:
    return brown_forsythe(groups) if groups.lots.size > 1 else None


def _limits(
    lower: float | None, upper: float | None, *, scale: Scale, origin: float
) -> tuple[float, float]:
    """Limits on the scale of the comparison, less the origin; infinite where there is none."""
    low = -math.inf if lower is None else lower
    high = math.inf if upper is None else upper
    if not low < high or (scale == "log" and high <= 0.0):
        raise _refused(
            f"no lot lies between {low:g} and {high:g}.",
            "Give a lower limit below the upper one, and on log scale an upper one above zero.",
        )
    if scale == "log":
        # Every value on log scale lies above zero, so a lower limit there asks for nothing.
        low, high = (math.log(limit) if limit > 0.0 else -math.inf for limit in (low, high))
    return low - origin, high - origin


def _check(confidence: float, draws: int, margin: float | None) -> None:
    refuse_outside(confidence, 0.5, SUREST, name="confidence", where="suppliers")
    if draws < FEWEST_DRAWS:
        raise _refused(f"{draws} draws give no odds.", f"Draw at least {FEWEST_DRAWS} times.")
    if margin is not None and not 0.0 < margin < math.inf:
        raise _refused(
            f"an equivalence margin of {margin:g} tells nothing apart.",
            "Give the largest difference that does not matter, above zero, or none.",
        )


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="suppliers", remedy=remedy)
