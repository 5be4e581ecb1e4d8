"""A share that was counted, such as that of lots accepted, with its exact interval."""

from dataclasses import dataclass

from scipy import stats

from spc.capability.intervals import Interval
from spc.charts.refusals import refuse_outside
from spc.errors import InvalidInput


@dataclass(frozen=True, slots=True, kw_only=True)
class CountedShare:
    """How many of how many, and what share of all that allows.

    Attributes
    ----------
    counted, of
        How many had the property, of how many looked at.
    share, interval
        The part counted, and where the true one may lie.
    confidence
        Of the interval, at least.
    """

    counted: int
    of: int
    share: float
    interval: Interval
    confidence: float


def counted_share(counted: int, of: int, *, confidence: float = 0.95) -> CountedShare:
    """Exact interval of a share.

    Parameters
    ----------
    counted, of
        How many had the property, of how many independent ones looked at.
    confidence
        Of the interval; with few it holds more often than that, never less.

    Returns
    -------
    CountedShare

    Raises
    ------
    InvalidInput
        If nothing was looked at, more were counted than looked at, or `confidence` is not
        possible.

    References
    ----------
    Clopper, C. J. and Pearson, E. S. (1934), Biometrika 26, 404-413.
    """
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="share")
    if not 0 <= counted <= of or of == 0:
        raise InvalidInput(
            f"{counted} of {of} is no share.",
            where="share",
            remedy="Count among one lot or more, and no more than there are.",
        )
    tail = (1.0 - confidence) / 2.0
    low = float(stats.beta.ppf(tail, counted, of - counted + 1)) if counted else 0.0
    high = float(stats.beta.isf(tail, counted + 1, of - counted)) if counted < of else 1.0
    return CountedShare(
        counted=counted,
        of=of,
        share=counted / of,
        interval=Interval(low=low, high=high),
        confidence=confidence,
    )
