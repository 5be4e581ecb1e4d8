"""Plans for the average of a bulk lot: how many increments, test portions and tests."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.charts.refusals import refuse_outside
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

MOST_INCREMENTS: Final = 10_000
MOST_PORTIONS: Final = 1_000
MOST_TESTS: Final = 50


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkPlan:
    """Mix increments into one composite, test portions of it, and compare the average.

    Attributes
    ----------
    increments
        Drawn over the whole lot, of equal size, mixed into one composite.
    portions
        Test portions taken from the composite and prepared on their own.
    tests
        Measurements of each portion.
    acceptance_limit
        The average is accepted on the side of it where `accepted_mean` lies, or on it.
    side
        ``"lower"``: a low average is rejected; ``"upper"``: a high one.
    sigma
        Standard deviation of the average found, about the lot's true mean.
    cost
        Of increments, portions and tests together, in the unit of the costs given.
    accepted_mean, rejected_mean
        Lot means the risks hold at.
    producer_risk, consumer_risk
        Chance that a lot at `accepted_mean` is rejected, and that one at `rejected_mean` is
        accepted, as they come out; never above the ones asked for.
    """

    increments: int
    portions: int
    tests: int
    acceptance_limit: float
    side: str
    sigma: float
    cost: float
    accepted_mean: float
    rejected_mean: float
    producer_risk: float
    consumer_risk: float

    def acceptance_probability(self, mean: ArrayLike) -> Floats:
        """Chance that a lot is accepted.

        Parameters
        ----------
        mean : any shape
            True mean of the lot, on the scale of the plan.

        Returns
        -------
        array of the shape of `mean`
        """
        away = (np.asarray(mean, dtype=np.float64) - self.acceptance_limit) / self.sigma
        chance = stats.norm.cdf(away if self.side == "lower" else -away)
        return np.asarray(chance, dtype=np.float64)

    def judge(self, average: float) -> bool:
        """Whether an average found is accepted.

        Parameters
        ----------
        average
            Of all tests, on the scale of the plan.

        Returns
        -------
        bool

        Raises
        ------
        InvalidInput
            If it is not a finite number.
        """
        if not math.isfinite(average):
            raise InvalidInput(
                f"average {average:g} is not a finite number.",
                where="bulk plan",
                remedy="Measure the portions that are missing or out of range.",
            )
        if self.side == "lower":
            return average >= self.acceptance_limit
        return average <= self.acceptance_limit


def bulk_plan(  # noqa: PLR0913 - three components, three costs, two points and two risks are the problem
    *,
    between_increments: float,
    between_portions: float,
    measurement: float,
    cost_increment: float,
    cost_test: float,
    accepted_mean: float,
    rejected_mean: float,
    producer_risk: float = 0.05,
    consumer_risk: float = 0.10,
    cost_portion: float = 0.0,
    method: float = 0.0,
) -> BulkPlan:
    """The cheapest plan for the average of a bulk lot that keeps two risks.

    Parameters
    ----------
    between_increments, between_portions, measurement
        Standard deviations: between increments of a lot, between portions of one composite, and
        between measurements of one portion.  Known from earlier lots, on the scale (linear or
        log) of the means.
    cost_increment, cost_test, cost_portion
        Of drawing one increment, of one measurement and of preparing one portion, in one unit.
    accepted_mean, rejected_mean
        Lot means to accept and to reject; the higher one says which side is good.
    producer_risk
        Highest chance that a lot at `accepted_mean` is rejected.
    consumer_risk
        Highest chance that a lot at `rejected_mean` is accepted.
    method
        Standard uncertainty that all tests share, which no number of them shrinks.

    Returns
    -------
    BulkPlan
        Of equal cost, the one with the fewest measurements, and then the fewest increments.

    Raises
    ------
    InvalidInput
        If a standard deviation is negative, a cost is not positive, a risk is not below a half,
        the means are equal, or no plan within 10 000 increments, 1 000 portions and 50 tests
        each keeps the risks.

    Notes
    -----
    Variance of the average: between_increments² / increments + between_portions² / portions +
    measurement² / (portions tests) + method².  It assumes normal, independent parts, increments
    of equal size, and a composite mixed so well that portions differ by `between_portions` only.
    The search is over every plan within the bounds.  The acceptance limit divides what is left
    over between the two risks in proportion to their normal quantiles.

    References
    ----------
    ISO 10725, acceptance sampling plans and procedures for the inspection of bulk materials: the
    idea, not its tables, and with one composite.
    """
    parts = (between_increments, between_portions, measurement, method)
    _check(parts, (cost_increment, cost_test), cost_portion)
    refuse_outside(producer_risk, 0.0, 0.5, name="producer risk", where="bulk plan")
    refuse_outside(consumer_risk, 0.0, 0.5, name="consumer risk", where="bulk plan")
    distance = accepted_mean - rejected_mean
    if distance == 0.0 or not math.isfinite(distance):
        raise InvalidInput(
            f"means of {accepted_mean:g} and {rejected_mean:g} cannot be told apart.",
            where="bulk plan",
            remedy="Give the mean of a lot to accept and that of a lot to reject.",
        )
    good, bad = float(stats.norm.isf(producer_risk)), float(stats.norm.isf(consumer_risk))
    allowed = (distance / (good + bad)) ** 2 - method**2
    portions, tests = np.ogrid[1 : MOST_PORTIONS + 1, 1 : MOST_TESTS + 1]
    below = between_portions**2 / portions + measurement**2 / (portions * tests)
    increments = _fewest_increments(between_increments**2, allowed - below)
    cost = cost_increment * increments + cost_portion * portions + cost_test * portions * tests
    at = _cheapest(cost, portions * tests, increments)
    if at is None:
        raise _refused(distance, method, (good + bad) * method)
    sigma = math.sqrt(between_increments**2 / increments[at] + below[at] + method**2)
    limit = rejected_mean + distance * bad / (good + bad)
    margin = abs(distance) / (good + bad) / sigma if sigma > 0.0 else math.inf
    return BulkPlan(
        increments=int(increments[at]),
        portions=at[0] + 1,
        tests=at[1] + 1,
        acceptance_limit=limit,
        side="lower" if distance > 0.0 else "upper",
        sigma=sigma,
        cost=float(cost[at]),
        accepted_mean=accepted_mean,
        rejected_mean=rejected_mean,
        producer_risk=float(stats.norm.sf(good * margin)),
        consumer_risk=float(stats.norm.sf(bad * margin)),
    )


def _fewest_increments(variance: float, allowed: Floats) -> Floats:
    """Increments that bring their part of the variance down to what is allowed; else infinity."""
    with np.errstate(divide="ignore"):
        needed = np.where(allowed > 0.0, variance / np.maximum(allowed, 1e-300), np.inf)
    if variance == 0.0:
        needed = np.where(allowed >= 0.0, 0.0, np.inf)
    # A hair below a whole number is that number: 3.0000000000000004 increments are 3.
    rounded = np.maximum(np.ceil(needed * (1.0 - 1e-12)), 1.0)
    return np.where(rounded <= MOST_INCREMENTS, rounded, np.inf)


def _cheapest(cost: Floats, tests: NDArray[np.int64], increments: Floats) -> tuple[int, int] | None:
    order = np.lexsort((increments.ravel(), tests.ravel(), cost.ravel()))
    first = int(order[0])
    if not math.isfinite(cost.flat[first]):
        return None
    row, column = divmod(first, cost.shape[1])
    return row, column


def _refused(distance: float, method: float, needed: float) -> InvalidInput:
    if abs(distance) <= needed:
        return InvalidInput(
            f"a method with a standard uncertainty of {method:g} cannot tell means"
            f" {abs(distance):g} apart at these risks, however many increments are drawn; it"
            f" needs {needed:g}.",
            where="bulk plan",
            remedy="Use a better method, a second laboratory, or means further apart.",
        )
    return InvalidInput(
        f"no plan of up to {MOST_INCREMENTS} increments, {MOST_PORTIONS} portions and"
        f" {MOST_TESTS} tests each tells means {abs(distance):g} apart at these risks.",
        where="bulk plan",
        remedy="Move the two means apart, or accept larger risks.",
    )


def _check(parts: tuple[float, ...], costs: tuple[float, ...], cost_portion: float) -> None:
    if not all(0.0 <= part < math.inf for part in parts):
        raise InvalidInput(
            f"standard deviations {', '.join(f'{part:g}' for part in parts)} are not possible.",
            where="bulk plan",
            remedy="Give every component as a standard deviation of zero or more.",
        )
    if not all(0.0 < cost < math.inf for cost in costs) or not 0.0 <= cost_portion < math.inf:
        raise InvalidInput(
            f"costs of {', '.join(f'{cost:g}' for cost in (*costs, cost_portion))} for an"
            " increment, a test and a portion make no cheapest plan.",
            where="bulk plan",
            remedy="Give positive costs of an increment and of a test, and none below zero.",
        )
