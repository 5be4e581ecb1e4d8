"""Limits and scores that are honest when few lots stand behind them."""

import math
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, special, stats

from spc.charts.limits import Limits
from spc.charts.refusals import ROUNDING, finite_lots, refuse_outside, spread_lots
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# Gauss-Legendre nodes over half of the distribution of the mean, and its end in sigmas.
NODES: Final = 120
END: Final = 9.0
NEWTON_STEPS: Final = 30
# The smallest positive number: what lies further out is shown there, at about 38 sigmas.
RAREST: Final = 5e-324


def prediction(x: ArrayLike, *, risk: float = 0.0027) -> Limits:
    """Limits that the next lot passes with exactly the stated chance, averaged over baselines.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot of the baseline, any unit; finite.
    risk
        Chance that the next lot of a steady supplier lies outside.

    Returns
    -------
    Limits
        In the unit of `x`; `sigma` is that of the difference between the next lot and the
        mean of the baseline, and `width` the quantile of Student's t.

    Raises
    ------
    TooFewLots
        If fewer than two lots are given.
    NoSpread
        If all values are equal.
    InvalidInput
        If `x` is not one-dimensional or not finite, or `risk` is not between 0 and 1.

    Notes
    -----
    Mean +/- t(n - 1) s sqrt(1 + 1/n), for normal values.  The risk holds on average over
    baselines: one that came out narrow by luck signals more often; see `guaranteed`.  One
    baseline also judges all later lots, whose signals are therefore not independent.

    References
    ----------
    Hahn, G. J. (1970), Journal of Quality Technology 2, 195-206.
    ISO 16269-8, prediction intervals.
    """
    refuse_outside(risk, 0.0, 1.0, name="risk", where="prediction")
    values = spread_lots(x, where="prediction")
    sigma = float(values.std(ddof=1)) * math.sqrt(1.0 + 1.0 / values.size)
    return _limits(values, sigma, float(stats.t.isf(risk / 2.0, values.size - 1)))


def guaranteed(
    x: ArrayLike, *, risk: float = 0.0027, unlucky: float = 0.1, excess: float = 0.0
) -> Limits:
    """Limits whose rate of false alarms is kept, but for a stated share of unlucky baselines.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot of the baseline, any unit; finite.
    risk
        Chance that a lot of a steady supplier lies outside.
    unlucky
        Share of baselines, among all that chance might have given, for which the promise
        may fail.
    excess
        By what part of itself the risk may be overrun before the promise counts as broken:
        0.2 allows 1.2 times the risk.

    Returns
    -------
    Limits
        In the unit of `x`; `sigma` is the standard deviation of the baseline.

    Raises
    ------
    TooFewLots
        If fewer than two lots are given.
    NoSpread
        If all values are equal.
    InvalidInput
        If `x` is not one-dimensional or not finite, `unlucky` is not between 0 and 1,
        `excess` is negative or not finite, or `risk` (1 + `excess`) is not between 0 and a
        half.

    Notes
    -----
    With probability 1 - `unlucky` over baselines of normal lots, a later steady lot lies
    outside with a chance of at most `risk` (1 + `excess`).  That is the statement of a
    two-sided tolerance interval, so its factor is used, exact by integration over the
    distribution of the mean and of s.  Few lots make it wide: five give 6.2 sigmas at the
    default settings, twenty 3.9.  With fewer than eight lots `prediction` is wider still,
    since its average is carried by the few baselines that came out very narrow.

    References
    ----------
    Gandy, A. and Kvaloy, J. T. (2013), Scandinavian Journal of Statistics 40, 647-668.
    Goedhart, R., Schoonhoven, M. and Does, R. J. M. M. (2017), Journal of Quality
    Technology 49, 4: guaranteed in-control performance by tolerance intervals.
    Wald, A. and Wolfowitz, J. (1946), Annals of Mathematical Statistics 17, 208-215.
    """
    refuse_outside(unlucky, 0.0, 1.0, name="unlucky share", where="guaranteed")
    if not 0.0 <= excess < math.inf:
        raise InvalidInput(
            f"an excess of {excess:g} is below zero or endless.",
            where="guaranteed",
            remedy="Give zero, or by what part the risk may be overrun.",
        )
    outside = risk * (1.0 + excess)
    refuse_outside(outside, 0.0, 0.5, name="risk", where="guaranteed")
    values = spread_lots(x, where="guaranteed")
    width = tolerance_width(values.size, outside=outside, unlucky=unlucky)
    return _limits(values, float(values.std(ddof=1)), width)


@lru_cache
def tolerance_width(n: int, *, outside: float, unlucky: float) -> float:
    """Two-sided normal tolerance factor, mean and standard deviation estimated.

    Parameters
    ----------
    n
        Number of lots, at least two.
    outside
        Share of the distribution that the interval may leave out, below a half.
    unlucky
        Chance that it leaves out more.

    Returns
    -------
    float
        In standard deviations of the baseline.

    Notes
    -----
    Given that the mean is off by z sigmas, the interval holds enough when k s exceeds the
    r(z) for which it is just enough; the chance of that is a chi-squared tail, integrated
    over the normal distribution of z.

    References
    ----------
    Wald, A. and Wolfowitz, J. (1946), Annals of Mathematical Statistics 17, 208-215.
    ISO 16269-6, statistical tolerance intervals.
    """
    node, weight = np.polynomial.legendre.leggauss(NODES)
    off = END / 2.0 * (node + 1.0)
    weight = END * weight * np.exp(-(off**2) / 2.0) / math.sqrt(2.0 * math.pi)
    reach = _half_width(off / math.sqrt(n), outside)

    def shortfall(k: float) -> float:
        return float(weight @ special.chdtr(n - 1, (n - 1) * (reach / k) ** 2)) - unlucky

    guess = -float(special.ndtri(outside / 2.0)) * math.sqrt(
        (n - 1) * (1.0 + 1.0 / n) / float(stats.chi2.ppf(unlucky, n - 1))
    )
    return float(optimize.brentq(shortfall, guess / 4.0, 4.0 * guess, xtol=1e-14, rtol=1e-14))


def self_starting(x: ArrayLike) -> Floats:
    """Each lot against the lots before it only, as a normal score.

    Parameters
    ----------
    x : shape (lots,)
        One value per lot in order of receipt, any unit; NaN for a lot without a value.

    Returns
    -------
    array of shape (lots,)
        NaN for the first two values, for gaps, and while all values before are equal;
        otherwise at most about 38 in size.  Fewer than three lots give NaN throughout.

    Raises
    ------
    InvalidInput
        If `x` is not one-dimensional or holds an infinity.

    Notes
    -----
    The prediction statistic of each lot, sqrt((r - 1) / r) (x - mean before) / s before, has
    Student's distribution with r - 2 degrees of freedom; turned into the normal quantile of
    the same probability, scores of a steady supplier are exactly independent and standard
    normal, whatever its mean and sigma, so limits at +/- 3 and all run rules serve from the
    third lot on.  After a shift the scores show it for a while and then learn it: judge at
    once, or leave the lot out of what follows.

    References
    ----------
    Quesenberry, C. P. (1991), Journal of Quality Technology 23, 213-224: case of both
    parameters unknown.
    Hawkins, D. M. (1987), The Statistician 36, 299-315.
    """
    values = np.array(x, dtype=np.float64)
    usable = ~np.isnan(values)
    known = finite_lots(values[usable] if values.ndim == 1 else x, where="self_starting", fewest=0)
    scores = np.full(values.size, np.nan)
    scores[np.flatnonzero(usable)[2:]] = _scores(known)
    return scores


def _scores(x: Floats) -> Floats:
    """Scores from the third value on."""
    if x.size < 3:
        return np.zeros(0)
    lots = np.arange(2, x.size + 1)
    shifted = x - x[0]
    before = np.cumsum(shifted)[:-1] / (lots - 1)
    step = (shifted[1:] - before) * np.sqrt((lots - 1) / lots)
    squares = np.cumsum(step[:-1] ** 2)
    largest = np.maximum.accumulate(np.abs(x))[1:-1]
    flat = np.sqrt(squares) <= ROUNDING * largest * lots[1:]
    freedom = lots[1:] - 2
    t = np.divide(step[1:], np.sqrt(squares / freedom), out=np.zeros(flat.size), where=~flat)
    tail = np.maximum(stats.t.sf(np.abs(t), freedom), RAREST)
    return np.where(flat, np.nan, np.copysign(special.ndtri(tail), t))


def _half_width(off: Floats, outside: float) -> Floats:
    """Half the width of an interval, `off` sigmas from the centre, that leaves out a share.

    Newton's method from below on a convex function, so that it never overshoots.
    """
    reach = off - float(special.ndtri(outside))
    for _ in range(NEWTON_STEPS):
        missed = special.ndtr(off - reach) + special.ndtr(-off - reach) - outside
        slope = np.exp(-((off - reach) ** 2) / 2.0) + np.exp(-((off + reach) ** 2) / 2.0)
        reach = reach + missed * math.sqrt(2.0 * math.pi) / slope
    return np.asarray(reach, dtype=np.float64)


def _limits(values: Floats, sigma: float, width: float) -> Limits:
    return Limits.around(float(values.mean()), sigma=sigma, size=values.size, width=width)
