"""The cheapest way to sample and test a lot that reaches a wanted uncertainty."""

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from spc.compare.spread.sampling_spread import Prices, SamplingDesign, SamplingSpread
from spc.errors import InvalidInput

Obstacle = Literal["", "method", "laboratory", "bounds"]

MOST_BAGS: Final = 200
MOST_TESTS: Final = 20
MOST_LABORATORIES: Final = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class CheapestDesign:
    """The cheapest way to the uncertainty wanted, or what stands in the way.

    Attributes
    ----------
    design
        None if none within the bounds reaches it.
    cost, uncertainty
        Of the design; NaN without one.
    floor
        Smallest standard uncertainty within the bounds.
    method_floor
        What is left with bags, tests and laboratories without end.
    laboratory_floor
        What is left with bags and tests without end in as many laboratories as allowed.
    obstacle
        ``"method"`` or ``"laboratory"`` if that floor alone is not below what is wanted,
        ``"bounds"`` if more bags or tests than allowed would do, ``""`` with a design.
    """

    design: SamplingDesign | None
    cost: float
    uncertainty: float
    floor: float
    method_floor: float
    laboratory_floor: float
    obstacle: Obstacle


def cheapest_design(  # noqa: PLR0913 - three bounds make the search finite, and each has a default
    spread: SamplingSpread,
    prices: Prices,
    *,
    wanted: float,
    bags_in_lot: int | None = None,
    most_bags: int = MOST_BAGS,
    most_tests: int = MOST_TESTS,
    most_laboratories: int = MOST_LABORATORIES,
) -> CheapestDesign:
    """The cheapest numbers of bags, tests and laboratories that reach an uncertainty.

    Parameters
    ----------
    spread, prices
        As for `next_purchase`.
    wanted
        Largest standard uncertainty of the lot's mean, in the unit of the spread.
    bags_in_lot
        How many there are; None for a loose or very large lot.
    most_bags, most_tests, most_laboratories
        Bounds of the search, at least one each.

    Returns
    -------
    CheapestDesign

    Raises
    ------
    InvalidInput
        If the uncertainty wanted is not positive or a bound is below one.

    Notes
    -----
    Every design within the bounds is weighed.  Of equally cheap ones the less uncertain is taken.
    """
    bags = most_bags if bags_in_lot is None else min(most_bags, bags_in_lot)
    if not 0.0 < wanted < math.inf or min(bags, most_tests, most_laboratories) < 1:
        raise InvalidInput(
            f"an uncertainty of {wanted:g} with up to {bags} bags, {most_tests} tests and"
            f" {most_laboratories} laboratories cannot be looked for.",
            where="cheapest design",
            remedy="Ask for an uncertainty above zero, and allow at least one of each.",
        )
    b, r, m = np.ix_(
        np.arange(1, bags + 1), np.arange(1, most_tests + 1), np.arange(1, most_laboratories + 1)
    )
    variance = spread.variances(b, r, m, bags_in_lot=bags_in_lot).sum(axis=0)
    # A hair above what is wanted is what is wanted.
    enough = variance <= wanted**2 * (1.0 + 1e-12)
    cost = np.where(enough, prices.of(b, r, m), np.inf)
    first = int(np.lexsort((variance.ravel(), cost.ravel()))[0])
    at = np.unravel_index(first, cost.shape)
    reached = bool(enough[at])
    design = SamplingDesign(bags=int(at[0]) + 1, tests=int(at[1]) + 1, laboratories=int(at[2]) + 1)
    shared = math.hypot(spread.method, spread.laboratory / math.sqrt(most_laboratories))
    return CheapestDesign(
        design=design if reached else None,
        cost=float(cost[at]) if reached else math.nan,
        uncertainty=math.sqrt(variance[at]) if reached else math.nan,
        floor=math.sqrt(variance.min()),
        method_floor=spread.method,
        laboratory_floor=shared,
        obstacle="" if reached else _obstacle(spread.method, shared, wanted),
    )


def _obstacle(method: float, shared: float, wanted: float) -> Obstacle:
    if method >= wanted:
        return "method"
    return "laboratory" if shared >= wanted else "bounds"
