"""Several characteristics averaged over lots with fading weight, for small lasting shifts."""

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, signal, special, stats

from spc.charts.multivariate import Flags, Floats, standardised
from spc.charts.refusals import refuse_outside
from spc.errors import InvalidInput

# One false alarm in as many steady lots as with limits three sigmas out.
STEADY_RUN: Final = 370.4
LONGEST_RUN: Final = 1e6
# Nodes for the distance of the average from the centre: a few, and more for each sigma of it.
FEWEST_NODES: Final = 40
NODES_PER_SIGMA: Final = 8
SMALLEST_WEIGHT: Final = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mewma:
    """Weighted averages of several characteristics, as one distance per lot.

    Attributes
    ----------
    values : shape (lots,)
        Squared distance of the average from the centre, in its own standard deviations; NaN
        for a lot that lacks a characteristic.
    upper
        Limit for the values.
    signals : shape (lots,)
        Whether the value lies above the limit.
    averages : shape (lots, characteristics)
        The weighted averages, in standard deviations of one lot; NaN as in `values`.
    size
        Number of lots of the baseline.
    weight
        Weight of the newest lot.
    steady_run
        Average number of lots until a steady supplier signals, were the baseline the truth.
    """

    values: Floats
    upper: float
    signals: Flags
    averages: Floats
    size: int
    weight: float
    steady_run: float


def mewma(
    x: ArrayLike,
    *,
    baseline: ArrayLike | None = None,
    weight: float = 0.1,
    limit: float | None = None,
    steady_run: float = STEADY_RUN,
) -> Mewma:
    """Multivariate exponentially weighted moving average of lots.

    Parameters
    ----------
    x : shape (lots, characteristics)
        One value of each characteristic per lot in order of receipt, each in its own unit;
        NaN where one was not measured.
    baseline : bool, shape (lots,)
        Which lots the means and correlations rest on; all complete lots if left out.
    weight
        Weight of the newest lot, from 0.01 to 1; 1 gives T squared itself.
    limit
        Limit for the squared distance; if left out, the one that gives `steady_run`.
    steady_run
        Average number of lots until a steady supplier signals.

    Returns
    -------
    Mewma
        Without unit.

    Raises
    ------
    TooFewLots
        If the baseline has fewer than two complete lots more than characteristics.
    NoSpread
        If a characteristic is the same in all lots of the baseline.
    InvalidInput
        If `x` is not a table or holds an infinity, `baseline` is not one flag a lot,
        characteristics determine each other, or a setting is out of range.

    Notes
    -----
    The average starts at the centre with the first lot given and is judged by its lasting
    covariance, weight / (2 - weight) times that of a lot, for which the run length is exact;
    a lot that lacks a characteristic is passed over.  The run length takes the baseline as
    the truth: with few lots false alarms come sooner.

    References
    ----------
    Lowry, C. A., Woodall, W. H., Champ, C. W. and Rigdon, S. E. (1992), Technometrics 34,
    46-53.
    """
    _check_weight(weight, "mewma")
    standing = standardised(x, baseline, where="mewma")
    known = ~np.isnan(standing.scores[:, 0])
    averages = np.full(standing.scores.shape, np.nan)
    averages[known] = signal.lfilter([weight], [1.0, weight - 1.0], standing.scores[known], axis=0)
    lasting = weight / (2.0 - weight)
    values = np.asarray(((averages @ standing.inverse) * averages).sum(axis=1) / lasting)
    characteristics = standing.inverse.shape[0]
    upper = (
        mewma_limit(steady_run, characteristics=characteristics, weight=weight)
        if limit is None
        else limit
    )
    return Mewma(
        values=values,
        upper=upper,
        signals=values > upper,
        averages=averages,
        size=standing.size,
        weight=weight,
        steady_run=run_length_mewma(upper, characteristics=characteristics, weight=weight),
    )


def mewma_limit(steady_run: float, *, characteristics: int, weight: float = 0.1) -> float:
    """Limit of a multivariate average that gives a steady supplier a stated run length.

    Parameters
    ----------
    steady_run
        Average number of lots until a steady supplier signals, above 1 and below a million.
    characteristics
        How many are averaged.
    weight
        Weight of the newest lot, from 0.01 to 1.

    Returns
    -------
    float
        For the squared distance in standard deviations of the average.

    Raises
    ------
    InvalidInput
        If a setting is out of range.

    References
    ----------
    Rigdon, S. E. (1995), Journal of Statistical Computation and Simulation 52, 351-365.
    """
    refuse_outside(steady_run, 1.0, LONGEST_RUN, name="run length", where="mewma_limit")
    _check_weight(weight, "mewma_limit")
    _check_characteristics(characteristics, "mewma_limit")
    return _limit_for(steady_run, characteristics, weight)


@lru_cache
def _limit_for(steady_run: float, characteristics: int, weight: float) -> float:
    # The limit for a single lot bounds it from above: averaging makes signals rarer.
    highest = float(stats.chi2.isf(1.0 / LONGEST_RUN, characteristics))

    def excess(h: float) -> float:
        return math.log(_run_length(h, characteristics, weight) / steady_run)

    return float(optimize.brentq(excess, 1e-12, highest, xtol=1e-12, rtol=1e-12))


def run_length_mewma(limit: float, *, characteristics: int, weight: float = 0.1) -> float:
    """Average number of lots until a steady supplier signals.

    Parameters
    ----------
    limit
        For the squared distance in standard deviations of the average.
    characteristics
        How many are averaged.
    weight
        Weight of the newest lot, from 0.01 to 1.

    Returns
    -------
    float
        In lots, from a start at the centre, means and correlations known.

    Raises
    ------
    InvalidInput
        If a setting is out of range.

    Notes
    -----
    For a steady supplier the distance of the average from the centre is a Markov process by
    itself: its next value is a noncentral chi variable times the weight.  The integral
    equation is solved at the nodes of a Gauss-Legendre rule.

    References
    ----------
    Rigdon, S. E. (1995), Journal of Statistical Computation and Simulation 52, 351-365.
    """
    refuse_outside(limit, 0.0, math.inf, name="limit", where="run_length_mewma")
    _check_weight(weight, "run_length_mewma")
    _check_characteristics(characteristics, "run_length_mewma")
    return _run_length(limit, characteristics, weight)


def _run_length(limit: float, characteristics: int, weight: float) -> float:
    """Run length by the Nystrom method, distances in sigmas of what one lot adds."""
    if weight == 1.0:
        return 1.0 / float(stats.chi2.sf(limit, characteristics))
    end = math.sqrt(limit / (weight * (2.0 - weight)))
    node, share = np.polynomial.legendre.leggauss(FEWEST_NODES + NODES_PER_SIGMA * math.ceil(end))
    distance, share = end / 2.0 * (node + 1.0), end / 2.0 * share
    start = np.append(0.0, distance)[:, None] * (1.0 - weight)
    stay = _chi_density(distance, start, characteristics) * share
    lots = np.linalg.solve(np.eye(node.size) - stay[1:], np.ones(node.size))
    return float(1.0 + stay[0] @ lots)


def _chi_density(r: Floats, center: Floats, freedom: int) -> NDArray[np.float64]:
    """Density of the length of a normal vector whose mean is `center` from the origin.

    r^(p-1) exp(-(r^2 + c^2)/2) times I(rc) / (rc)^order, which stays finite as rc vanishes.
    """
    order = freedom / 2.0 - 1.0
    product = r * center
    small = product < 1e-8
    bessel = special.ive(order, np.where(small, 1.0, product)) * np.where(small, 1.0, product) ** (
        -order
    )
    limit = 0.5**order / special.gamma(order + 1.0) * np.exp(-product)
    scaled = np.where(small, limit, bessel)
    return np.asarray(r ** (freedom - 1) * np.exp(-((r - center) ** 2) / 2.0) * scaled)


def _check_weight(weight: float, where: str) -> None:
    if not SMALLEST_WEIGHT <= weight <= 1.0:
        raise InvalidInput(
            f"weight {weight:g} is not between {SMALLEST_WEIGHT:g} and 1.",
            where=where,
            remedy="Give the newest lot a weight such as 0.1.",
        )


def _check_characteristics(characteristics: int, where: str) -> None:
    if characteristics < 1:
        raise InvalidInput(
            f"{characteristics} characteristics make no average.",
            where=where,
            remedy="Give at least one.",
        )
