"""Sampling plans as a person asks for them, and their curves as frames; pure."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.acceptance import BulkPlan, VariablesPlan, bulk_plan, variables_plan
from spc.digits import percent, written

_POINTS = 121


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What the average of a lot must be told apart from, and what sampling costs.

    Attributes
    ----------
    accepted, rejected
        Lot means, in unit: to be accepted, and to be rejected.
    within_cv, method_cv
        Spread between increments and the method's own uncertainty, as shares of the mean.
    cost_increment, cost_test
        In one currency.
    """

    accepted: float
    rejected: float
    within_cv: float
    method_cv: float
    cost_increment: float
    cost_test: float


def by_share(*, aql_pct: float, rql_pct: float) -> VariablesPlan:
    """The smallest variables plan for two shares outside the limits, in per cent."""
    return variables_plan(aql=aql_pct / 100.0, rql=rql_pct / 100.0)


def by_mean(asked: Asked) -> BulkPlan:
    """The cheapest plan for the average of a lot, on log scale, where spreads are shares."""
    return bulk_plan(
        between_increments=asked.within_cv,
        between_portions=asked.method_cv / 2.0,
        measurement=asked.method_cv / 2.0,
        cost_increment=asked.cost_increment,
        cost_test=asked.cost_test,
        accepted_mean=float(np.log(asked.accepted)),
        rejected_mean=float(np.log(asked.rejected)),
    )


def curve_of_shares(plan: VariablesPlan, *, aql_pct: float, rql_pct: float) -> pd.DataFrame:
    """Chance of acceptance by the share of the lot outside the limits, in per cent."""
    share = np.linspace(0.05, 2.0 * rql_pct, _POINTS)
    return _curve(share, plan.acceptance_probability(share / 100.0), (aql_pct, rql_pct))


def curve_of_means(plan: BulkPlan, asked: Asked) -> pd.DataFrame:
    """Chance of acceptance by the lot's true mean, in unit."""
    low, high = sorted((asked.accepted, asked.rejected))
    room = high - low
    mean = np.linspace(max(low - room, low / 4.0), high + room, _POINTS)
    chance = plan.acceptance_probability(np.log(mean))
    return _curve(mean, chance, (asked.accepted, asked.rejected))


def _curve(
    x: NDArray[np.float64], chance: NDArray[np.float64], points: tuple[float, float]
) -> pd.DataFrame:
    """The curve, with its two design points named."""
    at = np.interp(points, x, chance)
    frame = pd.DataFrame({"x": [*x, *points], "chance": [*chance, *at]})
    named = [
        f"{written(point)}: accepted {percent(float(one))}"
        for point, one in zip(points, at, strict=True)
    ]
    frame["point"] = [*[""] * len(x), *named]
    return frame.sort_values("x", kind="stable").reset_index(drop=True)
