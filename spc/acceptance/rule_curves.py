"""The curve of a decision on the average of a lot, under each rule a specification can state."""

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.acceptance.conformity import Risks, conformity
from spc.acceptance.evidence.outside import COVERAGE
from spc.acceptance.plans.decision_curve import DecisionCurve, average_curve
from spc.acceptance.specification import Rule

Floats = NDArray[np.float64]


def rule_curve(
    mean: ArrayLike,
    *,
    rule: Rule,
    uncertainty: float,
    risks: Risks,
    lower: float | None = None,
    upper: float | None = None,
) -> DecisionCurve:
    """How often the average of a lot is decided each way by a rule.

    Parameters
    ----------
    mean : shape (points,)
        True means of the lot, on the scale (linear or log) of the limits.
    rule
        Of the line.
    uncertainty
        Standard uncertainty of the mean found: sampling and method together.
    risks
        Of the line; read by the two rules that know risks.
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
    The mean found is normal about the true one, with the stated uncertainty.

    References
    ----------
    JCGM 106:2012, 8.2 (simple acceptance), 8.3.2 and 8.3.3 (guarded acceptance and rejection),
    9 (risk as a function of the true value).
    """
    truth = np.asarray(mean, dtype=np.float64)
    by_risks = average_curve(truth, uncertainty=uncertainty, risks=risks, lower=lower, upper=upper)
    if rule == "two risks":
        return by_risks
    margin = COVERAGE * uncertainty if rule == "guarded rejection" else 0.0
    low, high = _widened(lower, -margin), _widened(upper, margin)
    # Means within the limits, or not further outside than the margin.
    within = conformity(truth, uncertainty, lower=low, upper=high)
    conforming = by_risks.conforming if rule == "guarded acceptance" else within
    # Beyond a risk of one half, what is called conforming reaches outside the limits.
    rejected = np.minimum(1.0 - within, 1.0 - conforming)
    return DecisionCurve(
        mean=truth,
        conforming=conforming,
        undecided=np.maximum(1.0 - conforming - rejected, 0.0),
        not_conforming=rejected,
        outside=by_risks.outside,
    )


def _widened(limit: float | None, by: float) -> float | None:
    return None if limit is None or not math.isfinite(limit) else limit + by
