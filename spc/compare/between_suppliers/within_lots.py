"""How much the samples of one lot differ, supplier by supplier: whose bags are uneven."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from spc.charts.refusals import refuse_outside
from spc.compare.between_suppliers.consistency import standard_deviations
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# A spread larger than that of the others by less than this factor is no reason to ask.
LARGER: Final = 1.25
RISK: Final = 0.01


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WithinLots:
    """Spread between the samples of one lot, pooled over the lots of each supplier.

    Attributes
    ----------
    supplier : length suppliers
        Names, in order.
    lots : shape (suppliers,)
        How many lots have two samples or more.
    degrees : shape (suppliers,)
        Samples of those lots, less one a lot.
    standard_deviation : shape (suppliers,)
        Between samples of one lot, on the scale of the spreads; NaN where no lot shows any.
    interval : shape (suppliers, 2)
        Its ends.
    p_value : shape (suppliers,)
        Chance of such a spread, or a larger one, in a supplier whose samples differ by no more
        than `LARGER` times as much as those of the others, all suppliers allowed for; NaN where
        there is nothing to compare.
    uneven : bool, shape (suppliers,)
        Whether that is below `RISK`.
    confidence
        Of each interval by itself.
    """

    supplier: tuple[str, ...]
    lots: NDArray[np.int64]
    degrees: NDArray[np.int64]
    standard_deviation: Floats
    interval: Floats
    p_value: Floats
    uneven: NDArray[np.bool_]
    confidence: float


def within_lots(
    spread: ArrayLike, samples: ArrayLike, supplier: ArrayLike, *, confidence: float = 0.95
) -> WithinLots:
    """Pool the spreads within lots for each supplier, and compare each with the others.

    Parameters
    ----------
    spread : shape (lots,)
        Standard deviation between the samples of each lot, in one unit or, on log scale, of
        natural logarithms; NaN where it is not known.
    samples : shape (lots,)
        How many samples it comes from.
    supplier : shape (lots,)
        Name of each lot's supplier.
    confidence
        Of each interval by itself.

    Returns
    -------
    WithinLots
        On the scale of the spreads.

    Raises
    ------
    InvalidInput
        If shapes differ, a spread is negative or infinite, or `confidence` is not possible.

    Notes
    -----
    Variances are pooled by their degrees of freedom; their interval is exact for normal samples
    of one spread in all lots (chi-squared).  The comparison is a one-sided F test of each
    supplier's variance against that of all others together, at `LARGER` squared instead of one:
    with hundreds of samples every difference is certain and few matter.  It is one test a
    supplier, and each p-value is multiplied by how many there are.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, sections 1.3.5.8 and 1.3.5.9.
    """
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="within lots")
    spreads, counts = np.asarray(spread, dtype=np.float64), np.asarray(samples, dtype=np.float64)
    names, code = np.unique(np.asarray(supplier, dtype=np.str_), return_inverse=True)
    _check(spreads, counts, code)
    known = np.isfinite(spreads) & (counts > 1.0)
    degrees = np.where(known, counts - 1.0, 0.0)
    squares = np.where(known, spreads, 0.0) ** 2 * degrees
    lots, freedom, summed = (
        np.bincount(code, each, minlength=names.size).astype(np.float64)
        for each in (known, degrees, squares)
    )
    variance = _over(summed, freedom)
    ends = standard_deviations(
        variance, freedom, measurement=np.zeros(names.size), confidence=confidence
    )
    p_value = _larger_than_others(summed, freedom)
    return WithinLots(
        supplier=tuple(names.tolist()),
        lots=lots.astype(np.int64),
        degrees=freedom.astype(np.int64),
        standard_deviation=np.sqrt(variance),
        interval=np.where(freedom[:, None] > 0.0, ends[:, 1:], np.nan),
        p_value=p_value,
        uneven=p_value < RISK,
        confidence=confidence,
    )


def _larger_than_others(summed: Floats, freedom: Floats) -> Floats:
    others = freedom.sum() - freedom
    ratio = _over(_over(summed, freedom), _over(summed.sum() - summed, others))
    with np.errstate(invalid="ignore"):
        p_value = special.fdtrc(freedom, others, ratio / LARGER**2)
    compared = np.isfinite(p_value)
    return np.asarray(np.minimum(p_value * np.count_nonzero(compared), 1.0), dtype=np.float64)


def _over(above: Floats, below: Floats) -> Floats:
    ratio: Floats = np.divide(above, below, where=below > 0.0, out=np.full(above.shape, np.nan))
    return ratio


def _check(spreads: Floats, counts: Floats, code: NDArray[np.int64]) -> None:
    if not spreads.shape == counts.shape == code.shape:
        raise InvalidInput(
            "spreads, samples and suppliers differ in length.",
            where="within lots",
            remedy="Give one of each a lot.",
        )
    if np.any(np.isinf(spreads) | (spreads < 0.0)):
        raise InvalidInput(
            "a spread is below zero or infinite.",
            where="within lots",
            remedy="Give standard deviations, and NaN where one is not known.",
        )
