"""The chance that a measured value conforms, given what measurement and sampling error can hide."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.stats import norm

from spc.errors import InvalidInput

MOST_SAMPLES: Final = 200


def conformity(
    value: ArrayLike,
    uncertainty: ArrayLike,
    *,
    lower: float | None = None,
    upper: float | None = None,
) -> NDArray[np.float64]:
    """Probability that the true value lies within the limits.

    Parameters
    ----------
    value : any shape
        Best estimate; on the scale (linear or log) on which the uncertainty is normal.
    uncertainty
        Standard uncertainty in the unit of `value`; zero for an exactly known value.
    lower, upper
        Tolerance limits in the same unit; None where there is none.

    Returns
    -------
    array
        Shape of `value` and `uncertainty` broadcast; NaN where the value is missing.

    Raises
    ------
    InvalidInput
        If an uncertainty is negative or not a number, no limit is given, or they are crossed.

    Notes
    -----
    A value known to lie exactly on a limit conforms.  An infinite value is the known end of an
    open reading; it lies on its side of every finite limit, however uncertain it is.

    References
    ----------
    JCGM 106:2012, 7.2 to 7.5: conformance probability for a normal distribution.
    """
    bounds = _bounds(lower, upper)
    estimate, spread = np.broadcast_arrays(
        np.asarray(value, dtype=np.float64), np.asarray(uncertainty, dtype=np.float64)
    )
    if not np.all(spread >= 0.0):
        raise InvalidInput(
            "a standard uncertainty is negative or missing.",
            where="conformity",
            remedy="Give the method a standard uncertainty of zero or more.",
        )
    below = _standardised(bounds[0], estimate, spread, on_limit=-math.inf)
    above = _standardised(bounds[1], estimate, spread, on_limit=math.inf)
    # The difference of two upper tails loses no digits when both limits lie far above the value.
    inside = np.where(
        below > 0.0, norm.sf(below) - norm.sf(above), norm.cdf(above) - norm.cdf(below)
    )
    return np.asarray(inside, dtype=np.float64)


def guard_band(uncertainty: float, *, risk: float) -> float:
    """Distance between a tolerance limit and the acceptance limit that keeps a risk.

    Parameters
    ----------
    uncertainty
        Standard uncertainty of the measured value.
    risk
        Accepted chance that a value exactly on the acceptance limit does not conform.

    Returns
    -------
    float
        In the unit of `uncertainty`; taken inward for acceptance, outward for rejection.  Zero
        for a risk of 0.5 (simple acceptance), negative for a larger one.

    Raises
    ------
    InvalidInput
        If the risk is not between 0 and 1, or the uncertainty is negative or not a number.

    Notes
    -----
    The uncertainty is taken as known; where it rests on few degrees of freedom, Student's
    distribution gives a wider band.

    References
    ----------
    JCGM 106:2012, 8.3.3.
    """
    if not uncertainty >= 0.0:
        raise InvalidInput(
            f"standard uncertainty {uncertainty:g} is not possible.",
            where="guard band",
            remedy="Give a standard uncertainty of zero or more.",
        )
    if not 0.0 < risk < 1.0:
        raise InvalidInput(
            f"risk {risk:g} is not a probability.",
            where="guard band",
            remedy="Give a risk above 0 and below 1, for example 0.05.",
        )
    return float(norm.isf(risk)) * uncertainty


@dataclass(frozen=True, slots=True, kw_only=True)
class Settling:
    """What it would take to settle an undecided line.

    Attributes
    ----------
    samples
        Total number of samples at which the line would be decided if the mean stayed where it
        is; None if no number up to `MOST_SAMPLES` would do.
    best_probability
        Probability of conformity when sampling error is gone and the method's own remains.
    """

    samples: int | None
    best_probability: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Risks:
    """The two risks a line is decided at.

    Attributes
    ----------
    consumer
        Highest accepted chance that a line called conforming is not.
    producer
        Highest accepted chance that a line called not conforming is conforming after all.
    """

    consumer: float
    producer: float

    def decided(self, probability: ArrayLike) -> NDArray[np.bool_]:
        """Whether a probability of conformity settles the line, either way.

        Parameters
        ----------
        probability : any shape
            From 0 to 1; NaN settles nothing.

        Returns
        -------
        bool array
            Shape of `probability`.
        """
        chance = np.asarray(probability, dtype=np.float64)
        return (chance >= 1.0 - self.consumer) | (chance <= self.producer)


def more_samples(
    value: float,
    *,
    within: float,
    method: float,
    risks: Risks,
    lower: float | None = None,
    upper: float | None = None,
) -> Settling:
    """How many samples would settle a line, if the mean stayed where it is.

    Parameters
    ----------
    value
        Lot mean, on the scale on which its uncertainty is normal.
    within
        Standard deviation between samples of one lot.
    method
        Standard uncertainty of the method, which more samples do not shrink.
    risks
        At which the line is decided.
    lower, upper
        Limits on the scale of `value`.

    Returns
    -------
    Settling
        The total number of samples, or none with the reason's number.

    Raises
    ------
    InvalidInput
        As `conformity`.

    References
    ----------
    JCGM 106:2012, 7.2, with the uncertainty of a mean of n samples by JCGM 100:2008, 4.2.3.
    """
    count = np.arange(1, MOST_SAMPLES + 1)
    spread = np.sqrt(within**2 / count + method**2)
    decided = risks.decided(conformity(value, spread, lower=lower, upper=upper))
    # A smaller number can be decided by luck of geometry only with two limits; ask for the last
    # undecided one and go one further, so that every larger number is decided too.
    undecided = np.flatnonzero(~decided)
    first = 1 if undecided.size == 0 else int(count[undecided[-1]]) + 1
    best = float(conformity(value, method, lower=lower, upper=upper))
    return Settling(samples=first if first <= MOST_SAMPLES else None, best_probability=best)


def _bounds(lower: float | None, upper: float | None) -> tuple[float, float]:
    if lower is None and upper is None:
        raise InvalidInput(
            "no limit is given.", where="conformity", remedy="Give a lower or an upper limit."
        )
    low = -math.inf if lower is None else lower
    high = math.inf if upper is None else upper
    if low > high:
        raise InvalidInput(
            f"the lower limit {low:g} lies above the upper limit {high:g}.",
            where="conformity",
            remedy="Exchange the two limits.",
        )
    return low, high


def _standardised(
    limit: float, estimate: NDArray[np.float64], spread: NDArray[np.float64], *, on_limit: float
) -> NDArray[np.float64]:
    """Distance from estimate to limit, in uncertainties."""
    distance = np.full(estimate.shape, limit) if math.isinf(limit) else limit - estimate
    with np.errstate(divide="ignore", invalid="ignore", over="ignore"):
        scaled = np.where(np.isinf(distance), distance, distance / spread)
    return np.where((distance == 0.0) & (spread == 0.0), on_limit, scaled)
