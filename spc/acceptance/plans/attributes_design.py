"""The smallest attributes plan that keeps two risks, or the consumer's alone."""

import math
from typing import Final

from scipy import special, stats

from spc.acceptance.plans.attributes import AttributesPlan
from spc.acceptance.plans.two_points import Promise, smallest
from spc.errors import InvalidInput

MOST: Final = 100_000
# A share times a lot size is a whole number of units but for this much rounding.
ROUNDING: Final = 1e-9


def attributes_plan(
    *,
    aql: float,
    rql: float,
    producer_risk: float = 0.05,
    consumer_risk: float = 0.10,
    lot_size: int | None = None,
) -> AttributesPlan:
    """The attributes plan with the smallest c, and then the smallest n, that keeps two risks.

    Parameters
    ----------
    aql, rql
        Share nonconforming at which a lot is to be accepted, and to be rejected.
    producer_risk
        Highest chance that a lot at the AQL is rejected.
    consumer_risk
        Highest chance that a lot at the RQL is accepted.
    lot_size
        Units in the lot; None for a lot much larger than the sample.

    Returns
    -------
    AttributesPlan

    Raises
    ------
    InvalidInput
        If a share or risk is no probability, they are crossed, or more than `MOST` units would
        be needed.

    Notes
    -----
    Binomial; hypergeometric with a lot size.  A finite lot is at the AQL with the largest whole
    number of units not above it, and at the RQL with the smallest not below it; if no sample
    keeps both risks, the whole lot is the sample.

    References
    ----------
    ISO 28590, ISO 2859-2: plans indexed by two risk points.
    """
    promise = Promise(rql=rql, consumer_risk=consumer_risk, aql=aql, producer_risk=producer_risk)
    n, c = 0, -1
    good = _shares_of_lot(aql, lot_size)[0]
    while c < 0 or _accepts(c, n, good, lot_size) < 1.0 - producer_risk:
        c += 1
        n = _smallest_size(c, promise, lot_size, fewest=max(n, c + 1))
    return AttributesPlan(n=n, c=c, lot_size=lot_size, promise=promise)


def zero_acceptance(
    *, rql: float, consumer_risk: float, lot_size: int | None = None
) -> AttributesPlan:
    """The smallest plan that accepts on no nonconforming unit only.

    Parameters
    ----------
    rql
        Share nonconforming at which a lot is to be rejected.
    consumer_risk
        Highest chance that such a lot is accepted.
    lot_size
        Units in the lot; None for a lot much larger than the sample.

    Returns
    -------
    AttributesPlan
        With c = 0; it promises the supplier nothing.

    Raises
    ------
    InvalidInput
        If share or risk is no probability, or more than `MOST` units would be needed.

    References
    ----------
    ISO 28593: accept-zero plans.
    """
    promise = Promise(rql=rql, consumer_risk=consumer_risk)
    n = _smallest_size(0, promise, lot_size, fewest=1)
    return AttributesPlan(n=n, c=0, lot_size=lot_size, promise=promise)


def _smallest_size(c: int, promise: Promise, lot_size: int | None, *, fewest: int) -> int:
    bad = _shares_of_lot(promise.rql, lot_size)[1]
    n = smallest(
        lambda n: _accepts(c, n, bad, lot_size) <= promise.consumer_risk,
        fewest=fewest,
        most=MOST if lot_size is None else min(lot_size, MOST),
    )
    if n is None:
        raise InvalidInput(
            f"a rejectable share of {promise.rql:g} needs more than {MOST} units.",
            where="attributes plan",
            remedy="Move the two shares apart, raise the risks, or measure instead of counting.",
        )
    return n


def _shares_of_lot(p: float, lot_size: int | None) -> tuple[float, float]:
    """The share as numbers of units that a lot can hold: the nearest below, the nearest above."""
    if lot_size is None:
        return p, p
    if lot_size < 2:
        raise InvalidInput(
            f"a lot of {lot_size} unit{'' if lot_size == 1 else 's'} cannot be sampled.",
            where="attributes plan",
            remedy="Inspect the unit itself, or give the size of the lot in units.",
        )
    units = p * lot_size
    return float(math.floor(units + ROUNDING)), float(math.ceil(units - ROUNDING))


def _accepts(c: int, n: int, bad: float, lot_size: int | None) -> float:
    """Chance of acceptance with a share (large lot) or number (finite lot) nonconforming."""
    if lot_size is None:
        return float(special.bdtr(float(c), n, bad))
    return float(stats.hypergeom.cdf(c, lot_size, bad, n))
