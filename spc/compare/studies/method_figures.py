"""A precision study as the figures that a method carries."""

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from spc.compare.studies.crossed_study import CrossedStudy
from spc.compare.studies.nested_study import NestedStudy
from spc.compare.studies.precision_study import Repeatability
from spc.errors import InvalidInput

Floats = NDArray[np.float64]
Study = Repeatability | CrossedStudy | NestedStudy
Kind = Literal["unit", "share", "logarithm"]


@dataclass(frozen=True, slots=True, kw_only=True)
class MethodFigures:
    """What a new version of a method takes from a precision study.

    Attributes
    ----------
    relative
        Whether the two figures are shares of the value or in its unit.
    repeatability
        Standard deviation of repeated readings of one sample.
    repeatability_degrees
        Its degrees of freedom.
    standard_uncertainty
        Between laboratories or operators: what more samples read by one of them do not shrink.
    uncertainty_degrees
        Its degrees of freedom, approximate; of a spread at zero, the laboratories less one.
    levels
        Number of levels that the figures are pooled over.
    """

    relative: bool
    repeatability: float
    repeatability_degrees: float
    standard_uncertainty: float
    uncertainty_degrees: float
    levels: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Levels:
    """Figures of a study, level by level."""

    mean: Floats
    within: Floats
    within_degrees: Floats
    between: Floats
    between_degrees: Floats
    laboratories: int


def method_figures(study: Study, *, kind: Kind) -> MethodFigures:
    """Turn a study into the figures of a method.

    Parameters
    ----------
    study
        From `repeatability`, `crossed_study` or `nested_study`.
    kind
        ``"unit"``: figures in the unit of the readings, the same at all levels.  ``"share"``:
        shares of each level's mean.  ``"logarithm"``: the readings were natural logarithms, so
        their spreads are shares already.

    Returns
    -------
    MethodFigures

    Raises
    ------
    InvalidInput
        If shares are asked for of a level that is not above zero, or `kind` is unknown.

    Notes
    -----
    Variances within laboratories are pooled over levels by their degrees of freedom.  Variances
    between laboratories are averaged, and their degrees are those of the poorest level: the
    laboratories are the same at all levels, so that more levels do not add to them.  An
    interaction of operators with samples is in neither figure: it shows in the spread between the
    samples of a lot, where it is counted.

    References
    ----------
    ISO 21748: precision studies as evidence of measurement uncertainty.
    JCGM 100:2008, 4.3 and G.4: standard uncertainty and its degrees of freedom.
    """
    levels = _levels(study)
    divisor = _divisor(levels.mean, kind)
    weight = levels.within_degrees / levels.within_degrees.sum()
    known = levels.between_degrees[np.isfinite(levels.between_degrees)]
    return MethodFigures(
        relative=kind != "unit",
        repeatability=math.sqrt(weight @ np.square(levels.within / divisor)),
        repeatability_degrees=float(levels.within_degrees.sum()),
        standard_uncertainty=math.sqrt(np.square(levels.between / divisor).mean()),
        uncertainty_degrees=float(known.min()) if known.size else levels.laboratories - 1.0,
        levels=levels.mean.size,
    )


def _divisor(mean: Floats, kind: Kind) -> Floats:
    if kind not in ("unit", "share", "logarithm"):
        raise InvalidInput(
            f"figures cannot be given as {kind!r}.",
            where="method_figures",
            remedy='Use "unit", "share" or "logarithm".',
        )
    if kind != "share":
        return np.ones_like(mean)
    if mean.min() <= 0.0:
        raise InvalidInput(
            f"a level with a mean of {mean.min():g} has no share.",
            where="method_figures",
            remedy="Leave the level out, or take the figures in the unit.",
        )
    return mean


def _levels(study: Study) -> _Levels:
    if isinstance(study, Repeatability):
        return _Levels(
            mean=study.mean,
            within=study.repeatability_sd,
            within_degrees=study.repeatability_degrees.astype(np.float64),
            between=study.between_sd,
            between_degrees=study.between_degrees,
            laboratories=int((study.cells.replicates > 0).sum(axis=1).min()),
        )
    if isinstance(study, CrossedStudy):
        return _Levels(
            mean=np.array([study.mean]),
            within=study.sd[[3]],
            within_degrees=study.degrees[[3]].astype(np.float64),
            between=study.sd[[1]],
            between_degrees=np.array([_operator_degrees(study)]),
            laboratories=len(study.operators),
        )
    return _Levels(
        mean=np.array([study.mean]),
        within=np.array([study.repeatability_sd]),
        within_degrees=np.array([study.repeatability_degrees]),
        between=np.array([study.between_sd]),
        between_degrees=np.array([study.between_degrees]),
        laboratories=study.operators,
    )


def _operator_degrees(study: CrossedStudy) -> float:
    """Of the difference of the mean squares of operators and of the interaction."""
    operators, interaction = study.mean_squares[1:3]
    freedom = study.degrees[1:3]
    if study.floored[1]:
        return math.nan
    uncertain = operators**2 / freedom[0] + interaction**2 / freedom[1]
    return float((operators - interaction) ** 2 / uncertain)
