"""Where the spread comes from: supplier, crop year, lot, sample, replicate."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.charts.refusals import refuse_outside
from spc.compare.spread.group_codes import coded
from spc.compare.spread.nested_layout import NestedLayout, nested_layout
from spc.compare.spread.nested_likelihood import LikelihoodPoint, fixed_effects
from spc.compare.spread.nested_reml import restricted_maximum, standard_errors
from spc.compare.spread.profile_likelihood import profile_interval
from spc.errors import InvalidInput

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Components:
    """The variance of readings, level by level.

    Attributes
    ----------
    names
        Of the levels, outermost first; last what is left between the readings of one innermost
        group.  All arrays of shape (components,) follow it.
    variance, sd
        Between the groups of one level that share all levels around it, in the squared unit and
        the unit of the values; NaN where nothing can be said.
    share
        Of the sum of all variances.
    interval_low, interval_high
        Of `variance` at `confidence`; the lower end is zero where zero is not refuted.
    at_zero
        Whether the estimate lies at zero: the level shows no spread of its own, and the upper end
        says how much it could still have.
    reasons
        Why nothing can be said of a level; empty where something can.
    groups
        Groups of each level; of the last, readings.
    degrees
        Degrees of freedom of each: groups that it adds to the levels around it.
    effective_degrees
        Degrees of freedom that the variance is worth in all; NaN at zero.
    mean, mean_uncertainty
        Weighted mean with its standard uncertainty; with a fixed factor, of its first code.
    codes
        Of the fixed factor, in order; empty without one.
    contrast, contrast_uncertainty : shape (codes,)
        Mean of each code less that of the first.
    log_likelihood
        Restricted.
    confidence
        Of the intervals.
    """

    names: tuple[str, ...]
    variance: Floats
    sd: Floats
    share: Floats
    interval_low: Floats
    interval_high: Floats
    at_zero: NDArray[np.bool_]
    reasons: tuple[str, ...]
    groups: NDArray[np.int64]
    degrees: NDArray[np.int64]
    effective_degrees: Floats
    mean: float
    mean_uncertainty: float
    codes: tuple[str, ...]
    contrast: Floats
    contrast_uncertainty: Floats
    log_likelihood: float
    confidence: float

    def sd_of(self, name: str) -> float:
        """Standard deviation of one component.

        Parameters
        ----------
        name
            One of `names`.

        Returns
        -------
        float
            In the unit of the values.

        Raises
        ------
        InvalidInput
            If there is no such component, or nothing can be said of it.
        """
        if name not in self.names:
            raise InvalidInput(
                f"there is no component {name!r}.",
                where="components",
                remedy=f"Name one of: {', '.join(self.names)}.",
            )
        position = self.names.index(name)
        if self.reasons[position]:
            raise InvalidInput(
                f"nothing can be said of {name}: {self.reasons[position]}.",
                where="components",
                remedy=f"Repeat something within a {name}, or leave the level out.",
            )
        return float(self.sd[position])


def components(
    value: ArrayLike,
    levels: Mapping[str, ArrayLike],
    *,
    fixed: ArrayLike | None = None,
    residual: str = "replicate",
    confidence: float = 0.95,
) -> Components:
    """Variance components of nested readings, however unequal the groups.

    Parameters
    ----------
    value : shape (readings,)
        In any unit; logarithms where spreads are relative.
    levels
        Codes of each level, shape (readings,), outermost first: supplier, crop year, lot, sample.
        A code means something within its group of the level around it only: sample 1 of one lot
        is not sample 1 of the next.
    fixed : shape (readings,)
        Codes of a factor whose means differ systematically, such as the method.
    residual
        What the readings of one innermost group are called.
    confidence
        Of the intervals.

    Returns
    -------
    Components

    Raises
    ------
    InvalidInput
        If lengths differ, a value is not finite, a name is given twice, there are no more readings
        than fixed effects, the readings within the innermost groups are all equal, or
        `confidence` is not between 0 and 1.

    Notes
    -----
    Restricted maximum likelihood; with equal group sizes and no estimate below zero it is the
    analysis of variance.  The intervals hold every variance whose likelihood, the other variances
    following, is within the chi-squared limit of one degree of freedom of the largest.  Of
    simulated ones stated at 95 % 92 to 99 % held the truth, with 2 to 12 lots of 4 samples; those
    that did not mostly lay below it.

    References
    ----------
    Patterson, H. D. and Thompson, R. (1971), Biometrika 58, 545-554.
    Searle, S. R., Casella, G. and McCulloch, C. E. (1992), Variance Components.
    """
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="components")
    values = np.asarray(value, dtype=np.float64)
    codes, contrasts = _contrasts(fixed, values)
    layout = nested_layout(values, levels, contrasts, residual=residual)
    best = restricted_maximum(layout)
    variances, point = best
    errors = standard_errors(*best)
    intervals = _intervals(layout, best, errors, confidence)
    variance = _spread_out(layout, variances * layout.scale**2)
    effects = fixed_effects(layout, variances)
    uncertainty = np.sqrt(np.diag(effects.covariance)) * layout.scale
    contrast = np.append(0.0, effects.effects[:-1] * layout.scale)[: len(codes)]
    with np.errstate(divide="ignore", invalid="ignore"):
        effective = np.where(variances > 0.0, 2.0 * (variances / errors) ** 2, np.nan)
    return Components(
        names=layout.names,
        variance=variance,
        sd=np.sqrt(variance),
        share=variance / np.nansum(variance),
        interval_low=_spread_out(layout, intervals[:, 0]),
        interval_high=_spread_out(layout, intervals[:, 1]),
        at_zero=variance == 0.0,
        reasons=layout.reasons,
        groups=layout.groups,
        degrees=layout.degrees,
        effective_degrees=_spread_out(layout, effective),
        mean=layout.center + float(effects.effects[-1]) * layout.scale,
        mean_uncertainty=float(uncertainty[-1]),
        codes=codes,
        contrast=contrast,
        contrast_uncertainty=np.append(0.0, uncertainty[:-1])[: len(codes)],
        log_likelihood=_log_likelihood(layout, point),
        confidence=confidence,
    )


def _contrasts(fixed: ArrayLike | None, values: Floats) -> tuple[tuple[str, ...], Floats]:
    """Codes of the fixed factor, and where each but the first applies."""
    if fixed is None:
        return (), np.zeros((0, values.size))
    known, code = coded(fixed, values.size, name="fixed factor", where="components")
    applies = np.arange(1, len(known))[:, None] == code
    return known, applies.astype(np.float64)


def _intervals(
    layout: NestedLayout, best: tuple[Floats, LikelihoodPoint], errors: Floats, confidence: float
) -> Floats:
    """Ends of each component's interval; shape (components, 2)."""
    cut = float(stats.chi2.ppf(confidence, 1))
    ends = [
        profile_interval(layout, best, component=each, error=float(errors[each]), cut=cut)
        for each in range(errors.size)
    ]
    return np.array(ends) * layout.scale**2


def _spread_out(layout: NestedLayout, told: Floats) -> Floats:
    """A figure of every component, NaN where nothing can be said."""
    figures = np.full(len(layout.names), np.nan)
    figures[layout.told] = told
    return figures


def _log_likelihood(layout: NestedLayout, point: LikelihoodPoint) -> float:
    freedom = layout.size - 1 - layout.contrasts
    constant = freedom * (math.log(2.0 * math.pi) + 2.0 * math.log(layout.scale))
    return -0.5 * (point.deviance + constant)
