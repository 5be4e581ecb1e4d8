"""The operating-characteristic curve of the whole decision, with measurement error in it."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import optimize, stats

from spc.acceptance.conformity import Risks, conformity
from spc.acceptance.plans.two_limits import Spread, two_limit_acceptance
from spc.acceptance.plans.variables import VariablesPlan
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# Beyond so many uncertainties outside the limits no chance that a double can hold is left.
FARTHEST: Final = 40.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DecisionCurve:
    """How often a lot is decided each way, as a function of what it truly is.

    Attributes
    ----------
    mean : shape (points,)
        True mean of the lot.
    conforming, undecided, not_conforming : shape (points,)
        Chance of each decision; they add up to 1.  A plan leaves nothing undecided.
    outside : shape (points,)
        What is truly wrong: the share of units beyond the limits for a plan; 1 where the mean
        itself lies beyond them, and 0 elsewhere, for an average.
    """

    mean: Floats
    conforming: Floats
    undecided: Floats
    not_conforming: Floats
    outside: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class MeasurementError:
    """What measuring adds to what is there.

    Attributes
    ----------
    repeatability
        Standard deviation of one reading about its expectation, new with every reading.
    method
        Standard uncertainty that all readings of one lot share, such as a laboratory's bias.
    """

    repeatability: float = 0.0
    method: float = 0.0


def plan_curve(
    plan: VariablesPlan,
    mean: ArrayLike,
    *,
    within: float,
    error: MeasurementError | None = None,
    lower: float | None = None,
    upper: float | None = None,
) -> DecisionCurve:
    """How often a variables plan accepts a lot whose units are measured with error.

    Parameters
    ----------
    plan
        That judges the lot.
    mean : shape (points,)
        True means of the lot, on the scale (linear or log) on which units are normal.
    within
        True standard deviation between units of the lot, above zero.
    error
        Of the measurements; by default none.
    lower, upper
        Limits on the scale of `mean`; None where there is none.

    Returns
    -------
    DecisionCurve

    Raises
    ------
    InvalidInput
        If a spread or error is not possible, there is no limit, limits are crossed, or two
        limits are judged by fewer than four units with sigma unknown.

    Notes
    -----
    Readings spread by sqrt(within² + repeatability²), and their mean also by the shared part.
    With one limit and sigma unknown the index is a noncentral t whose noncentrality is normal,
    which is again a noncentral t; two limits are integrated over the sample's spread.  The known
    sigma of a plan is taken to be that of readings, as earlier lots show it.

    References
    ----------
    Lieberman, G. J. and Resnikoff, G. J. (1955), Journal of the American Statistical
    Association 50, 457-516; measurement error by JCGM 106:2012, 9 (global risks).
    """
    about = error or MeasurementError()
    _check(within, about)
    truth = np.asarray(mean, dtype=np.float64)
    outside = 1.0 - conformity(truth, within, lower=lower, upper=upper)
    reading = math.hypot(within, about.repeatability)
    spread = Spread(reading=reading, mean=math.hypot(reading / math.sqrt(plan.n), about.method))
    if lower is not None and upper is not None:
        accepted = two_limit_acceptance(plan, truth, spread=spread, lower=lower, upper=upper)
    else:
        accepted = _one_limit(plan, _inward(truth, lower, upper), spread)
    return DecisionCurve(
        mean=truth,
        conforming=accepted,
        undecided=np.zeros_like(accepted),
        not_conforming=1.0 - accepted,
        outside=outside,
    )


def average_curve(
    mean: ArrayLike,
    *,
    uncertainty: float,
    risks: Risks,
    lower: float | None = None,
    upper: float | None = None,
) -> DecisionCurve:
    """How often the average of a lot is found conforming, not conforming, or is left undecided.

    Parameters
    ----------
    mean : shape (points,)
        True means of the lot, on the scale (linear or log) of the limits.
    uncertainty
        Standard uncertainty of the mean found: sampling and method together.
    risks
        At which the line is decided.
    lower, upper
        Limits on the scale of `mean`; None where there is none.

    Returns
    -------
    DecisionCurve

    Raises
    ------
    InvalidInput
        If the uncertainty is negative, the risks add up to more than 1, there is no limit, or
        limits are crossed.

    Notes
    -----
    The mean found is normal about the true one.  It is called conforming where the probability
    of conformity is at least 1 - consumer risk, not conforming where it is at most producer
    risk.  Both happen beyond fixed values, found once, so the chances are exact.

    References
    ----------
    JCGM 106:2012, 7 and 8.3 (decision), 9 (risk as a function of the true value).
    """
    if not 0.0 <= risks.consumer + risks.producer <= 1.0:
        raise InvalidInput(
            f"risks of {risks.consumer:g} and {risks.producer:g} let a line be both at once.",
            where="decision curve",
            remedy="Give risks that add up to at most 1.",
        )
    truth = np.asarray(mean, dtype=np.float64)
    inside = conformity(truth, 0.0, lower=lower, upper=upper)

    def chance_within(probability: float) -> Floats:
        ends = _reach(probability, uncertainty, lower, upper)
        if ends is None:
            return np.zeros_like(truth)
        return conformity(truth, uncertainty, lower=ends[0], upper=ends[1])

    conforming = chance_within(1.0 - risks.consumer)
    settled = 1.0 - chance_within(risks.producer)
    return DecisionCurve(
        mean=truth,
        conforming=conforming,
        undecided=np.maximum(1.0 - conforming - settled, 0.0),
        not_conforming=settled,
        outside=1.0 - inside,
    )


def _one_limit(plan: VariablesPlan, inward: Floats, spread: Spread) -> Floats:
    """Chance that the index reaches k where the mean lies `inward` of its only limit."""
    if plan.sigma_known:
        away = (inward - plan.k * spread.reading) / spread.mean
        return np.asarray(stats.norm.cdf(away), dtype=np.float64)
    # (mean - limit) / s = (spread.mean / spread.reading) * noncentral t.
    limit = plan.k * spread.reading / spread.mean
    chance = stats.nct.sf(limit, plan.n - 1, inward / spread.mean)
    return np.asarray(chance, dtype=np.float64)


def _reach(
    probability: float, uncertainty: float, lower: float | None, upper: float | None
) -> tuple[float | None, float | None] | None:
    """Ends of the means found whose probability of conformity reaches a value; None if none do."""
    if lower is None or upper is None:
        band = float(stats.norm.ppf(probability)) * uncertainty if uncertainty else 0.0
        return (
            None if lower is None else lower + band,
            None if upper is None else upper - band,
        )
    middle, half = (lower + upper) / 2.0, (upper - lower) / 2.0
    farthest = half + FARTHEST * uncertainty

    def excess(away: float) -> float:
        return float(conformity(away, uncertainty, lower=-half, upper=half)) - probability

    if excess(0.0) < 0.0:
        return None
    # An uncertainty lost in the rounding of the limits leaves them where they are.
    away = half if farthest == half else float(optimize.brentq(excess, 0.0, farthest, xtol=1e-15))
    return middle - away, middle + away


def _inward(truth: Floats, lower: float | None, upper: float | None) -> Floats:
    """Distance from the only limit to the mean, positive where it is met."""
    return truth - lower if lower is not None else (upper or 0.0) - truth


def _check(within: float, error: MeasurementError) -> None:
    parts = (within, error.repeatability, error.method)
    if not all(0.0 <= part < math.inf for part in parts) or within == 0.0:
        raise InvalidInput(
            f"a spread of {within:g} with errors of {error.repeatability:g} and {error.method:g}"
            " is not possible.",
            where="decision curve",
            remedy="Give a spread above zero, and errors of zero or more.",
        )
