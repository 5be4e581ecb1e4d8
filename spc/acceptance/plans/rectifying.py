"""Plans for lots that are sorted when rejected: the least inspection that keeps a limit."""

import math
from collections.abc import Callable
from typing import Final

import numpy as np

from spc.acceptance.plans.attributes import AttributesPlan
from spc.errors import InvalidInput

# Incoming shares at which a curve of outgoing quality is looked at first.
COARSE: Final = 60


def plan_by_ltpd(
    lot_size: int, *, worst: float, usual: float, consumer_risk: float = 0.1
) -> AttributesPlan:
    """The plan of least average inspection among those that stop a lot of the worst share.

    Parameters
    ----------
    lot_size
        Units in a lot.
    worst
        Share nonconforming of a lot that may be accepted with the consumer's risk only (LTPD).
    usual
        Share nonconforming of the supplier's lots, at which inspection is to be least.
    consumer_risk
        Chance of accepting a lot at `worst`.

    Returns
    -------
    AttributesPlan
        Exact for lots of this size.

    Raises
    ------
    InvalidInput
        If a share or risk is not possible, or nothing short of sorting every lot will do.

    References
    ----------
    Dodge, H. F. and Romig, H. G. (1959), Sampling Inspection Tables, 2nd edition: lot tolerance
    tables; theirs rest on approximations and on classes of lot sizes.
    """
    _check(lot_size, worst, usual)
    if not 0.0 < consumer_risk < 1.0:
        raise _refused(f"a consumer's risk of {consumer_risk:g} is none.")

    def kept(plan: AttributesPlan) -> bool:
        return float(plan.acceptance_probability(worst)) <= consumer_risk

    return _least(lot_size, usual, kept)


def plan_by_aoql(lot_size: int, *, limit: float, usual: float) -> AttributesPlan:
    """The plan of least average inspection among those whose outgoing quality keeps a limit.

    Parameters
    ----------
    lot_size
        Units in a lot.
    limit
        Largest average share nonconforming that may go on to use, whatever comes in (AOQL).
    usual
        Share nonconforming of the supplier's lots, at which inspection is to be least.

    Returns
    -------
    AttributesPlan
        Exact for lots of this size.

    Raises
    ------
    InvalidInput
        If a share is not possible, or nothing short of sorting every lot will do.

    References
    ----------
    Dodge, H. F. and Romig, H. G. (1959), Sampling Inspection Tables, 2nd edition: tables of the
    average outgoing quality limit.
    """
    _check(lot_size, limit, usual)

    def kept(plan: AttributesPlan) -> bool:
        # Where far more than c are expected in the sample, next to nothing is passed on.
        expected = plan.c + 11.0 + 6.0 * math.sqrt(plan.c + 1.0)
        most = min(lot_size, math.ceil(lot_size * expected / plan.n))
        # The curve rises to one peak: found roughly first, then unit by unit beside it.
        stride = max(1, most // COARSE)
        rough = np.arange(0, most + 1, stride)
        passed = plan.average_outgoing_quality(rough / lot_size)
        peak = int(rough[passed.argmax()])
        beside = np.arange(max(peak - stride, 0), min(peak + stride, lot_size) + 1)
        return (
            float(passed.max()) <= limit
            and float(plan.average_outgoing_quality(beside / lot_size).max()) <= limit
        )

    return _least(lot_size, usual, kept)


def _least(lot_size: int, usual: float, kept: Callable[[AttributesPlan], bool]) -> AttributesPlan:
    """Of each acceptance number the smallest sample that keeps the limit, of these the least."""
    best, least = None, float("inf")
    n = 1
    for c in range(lot_size):
        n = _smallest(lot_size, c, max(n, c + 1), kept)
        # Inspection is never less than the sample, which only grows with c.
        if n >= lot_size or n >= least:
            break
        plan = AttributesPlan(n=n, c=c, lot_size=lot_size)
        inspection = float(plan.average_total_inspection(usual))
        if inspection < least:
            best, least = plan, inspection
    if best is None:
        raise _refused("only sorting every lot keeps this limit.")
    return best


def _smallest(lot_size: int, c: int, low: int, kept: Callable[[AttributesPlan], bool]) -> int:
    high = lot_size
    while low < high:
        middle = (low + high) // 2
        if kept(AttributesPlan(n=middle, c=c, lot_size=lot_size)):
            high = middle
        else:
            low = middle + 1
    return low


def _check(lot_size: int, share: float, usual: float) -> None:
    if lot_size < 2:
        raise _refused(f"a lot of {lot_size} units is not sampled.")
    if not 0.0 <= usual < share < 1.0:
        raise _refused(f"a usual share of {usual:g} is not below a limit of {share:g}.")


def _refused(what: str) -> InvalidInput:
    return InvalidInput(
        what,
        where="plan with sorting",
        remedy="Give a larger lot, a wider limit, or a supplier whose usual share is below it.",
    )
