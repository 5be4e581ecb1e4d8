"""The restricted likelihood of nested levels, in one pass outwards and one back inwards."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from spc.compare.spread.nested_layout import NestedLayout

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LikelihoodPoint:
    """Minus twice the restricted log-likelihood at given variances, up to a constant.

    Attributes
    ----------
    deviance
        Smallest where the likelihood is largest.
    gradient : shape (components,)
        Its derivative by each variance.
    information : shape (components, components)
        Average of its observed and its expected curvature.
    """

    deviance: float
    gradient: Floats
    information: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FixedEffects:
    """Generalised least squares at given variances.

    Attributes
    ----------
    effects : shape (contrasts + 1,)
        Of each contrast, and last the mean where all of them are zero.
    covariance : shape (contrasts + 1, contrasts + 1)
        Of the effects.
    """

    effects: Floats
    covariance: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Level:
    """One level as seen from outside, at one variance; arrays of shape (..., groups).

    Attributes
    ----------
    variance
        Between its groups.
    first, members
        As in the layout.
    shrunk
        By how much the variance lowers the precision of each group's mean.
    precision
        Of each group's mean.
    """

    variance: float
    first: NDArray[np.int64]
    members: NDArray[np.int64]
    shrunk: Floats
    precision: Floats


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Sums:
    """What a pass outwards leaves: means of each level's groups, of the whole, and products."""

    means: tuple[Floats, ...]
    mean: Floats
    products: Floats


def likelihood_point(layout: NestedLayout, variances: Floats) -> LikelihoodPoint:
    """Deviance, gradient and average information at given variances.

    Parameters
    ----------
    layout
        Of the readings.
    variances : shape (components,)
        Of the levels that can be told, outermost first, and of the residual, on the layout's
        scale; the residual above zero, the others not below.

    Returns
    -------
    LikelihoodPoint

    Notes
    -----
    A group of precision S within, and of variance v against its neighbours, is seen from outside
    as one value, its weighted mean, of precision S / (1 + v S), and adds log(1 + v S) to the
    determinant.  So quadratic forms are sums of squares about weighted means, without a matrix of
    the size of a group, and without subtracting large numbers.

    References
    ----------
    Searle, S. R., Casella, G. and McCulloch, C. E. (1992), Variance Components, chapter 6.
    Gilmour, A. R., Thompson, R. and Cullis, B. R. (1995), Biometrics 51, 1440-1450: average
    information.
    """
    levels, weight = _levels(layout, variances)
    sums = _outwards(levels, layout.means, layout.within / variances[-1])
    inverse: Floats = np.asarray(np.linalg.inv(sums.products[:-1, :-1]), dtype=np.float64)
    slopes = inverse @ sums.products[:-1, -1]
    unexplained = float(sums.products[-1, -1] - sums.products[:-1, -1] @ slopes)
    traces, pulls = _inwards(levels, sums, slopes, inverse, weight)
    squares = np.array([pull @ pull for pull in pulls])
    log_det = layout.size * np.log(variances[-1]) + np.log(weight)
    log_det += sum(float(np.log(level.shrunk).sum()) for level in levels)
    freedom = layout.size - 1 - layout.contrasts
    # Scaling all variances alike scales the quadratic form: that gives the residual's part.
    spread = (unexplained - variances[:-1] @ squares) / variances[-1]
    trace = (freedom - variances[:-1] @ traces) / variances[-1]
    return LikelihoodPoint(
        deviance=float(log_det - np.linalg.slogdet(inverse)[1]) + unexplained,
        gradient=np.append(traces - squares, trace - spread),
        information=_completed(
            _information(layout, levels, pulls, inverse), np.append(squares, spread), variances
        ),
    )


def fixed_effects(layout: NestedLayout, variances: Floats) -> FixedEffects:
    """Mean and contrasts with their covariance, on the layout's scale.

    Parameters
    ----------
    layout, variances
        As for `likelihood_point`.

    Returns
    -------
    FixedEffects
    """
    levels, weight = _levels(layout, variances)
    sums = _outwards(levels, layout.means, layout.within / variances[-1])
    inverse: Floats = np.asarray(np.linalg.inv(sums.products[:-1, :-1]), dtype=np.float64)
    slopes = inverse @ sums.products[:-1, -1]
    contrasts, value = sums.mean[:-1], sums.mean[-1]
    carried = inverse @ contrasts
    corner = 1.0 / weight + contrasts @ carried
    return FixedEffects(
        effects=np.append(slopes, value - contrasts @ slopes),
        covariance=np.block([[inverse, -carried[:, None]], [-carried[None, :], corner]]),
    )


def _levels(layout: NestedLayout, variances: Floats) -> tuple[tuple[_Level, ...], float]:
    """The levels that can be told, outermost first, and the precision of the whole's mean."""
    inside = layout.readings / variances[-1]
    levels = []
    inwards = zip(variances[:-1], layout.first, layout.members, strict=True)
    for variance, first, members in reversed(list(inwards)):
        shrunk = 1.0 + variance * inside
        level = _Level(
            variance=float(variance),
            first=first,
            members=members,
            shrunk=shrunk,
            precision=inside / shrunk,
        )
        levels.append(level)
        inside = np.add.reduceat(level.precision, first)
    return tuple(reversed(levels)), float(inside[0])


def _outwards(levels: tuple[_Level, ...], means: Floats, within: Floats) -> _Sums:
    """Weighted means of columns, from the innermost groups to the whole, and their products."""
    products, by_level = within, []
    for level in reversed(levels):
        weighted = level.precision * means
        total = np.add.reduceat(level.precision, level.first)
        outer = np.add.reduceat(weighted, level.first, axis=1) / total
        off = means - np.repeat(outer, level.members, axis=1)
        products = products + (level.precision * off) @ off.T
        by_level.append(means)
        means = outer
    return _Sums(means=tuple(reversed(by_level)), mean=means[:, 0], products=products)


def _inwards(
    levels: tuple[_Level, ...], sums: _Sums, slopes: Floats, inverse: Floats, weight: float
) -> tuple[Floats, tuple[Floats, ...]]:
    """Of each level: the trace of its part of the projection, and the pull on each group.

    `expected` is what a group's surroundings let expect of its means, and `shared` how much of
    its precision they share.
    """
    expected, shared = np.zeros((sums.mean.size + 1, 1)), np.zeros(1)
    traces, pulls = [], []
    for level, means in zip(levels, sums.means, strict=True):
        shared = np.repeat(shared, level.members)
        about = _about(means - sums.mean[:, None], slopes)
        off = about - np.repeat(expected, level.members, axis=1)
        pull = level.precision * off
        ones, fixed = pull[0], pull[1:-1]
        taken = (ones @ ones) / weight + float((fixed * (inverse @ fixed)).sum())
        traces.append(float((level.precision - shared * level.precision**2).sum() - taken))
        pulls.append(pull[-1])
        expected = about - off / level.shrunk
        shared = (level.variance + shared / level.shrunk) / level.shrunk
    return np.array(traces), tuple(pulls)


def _about(means: Floats, slopes: Floats) -> Floats:
    """Of each group: one, its contrasts, and what the fixed effects leave of its value."""
    about = np.ones((len(means) + 1, means.shape[1]))
    about[1:] = means
    about[-1] -= slopes @ means[:-1]
    return about


def _information(
    layout: NestedLayout, levels: tuple[_Level, ...], pulls: tuple[Floats, ...], inverse: Floats
) -> Floats:
    """Products of the levels' pulls, as if each were a column of values."""
    columns = []
    for outermost, pull in enumerate(pulls):
        spread = pull
        for level in levels[outermost + 1 :]:
            spread = np.repeat(spread, level.members)
        columns.append(spread)
    if not columns:
        return np.zeros((0, 0))
    size, fixed = layout.contrasts + len(columns), layout.contrasts
    table = np.vstack((layout.means[:-1], *columns))
    within = np.zeros((size, size))
    products = _outwards(levels, table, within).products
    across = products[:fixed, fixed:]
    return np.asarray(products[fixed:, fixed:] - across.T @ inverse @ across, dtype=np.float64)


def _completed(by_level: Floats, squares: Floats, variances: Floats) -> Floats:
    """Add the residual's row: all variances together, each by its size, give the values back."""
    row = (squares[:-1] - variances[:-1] @ by_level) / variances[-1]
    whole = np.empty((variances.size, variances.size))
    whole[:-1, :-1] = by_level
    whole[-1, :-1] = whole[:-1, -1] = row
    whole[-1, -1] = (squares[-1] - variances[:-1] @ row) / variances[-1]
    return whole
