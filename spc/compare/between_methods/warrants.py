"""What a correction does to a method's figures, and whether it is worth making."""

import math
from dataclasses import dataclass

from scipy import stats

from spc.acceptance import Method
from spc.capability.intervals import Interval
from spc.charts.refusals import refuse_outside
from spc.compare.between_methods.corrections import Correction
from spc.compare.between_methods.fitted_line import around
from spc.errors import InvalidInput


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectedFigures:
    """The two figures of `acceptance.Method` that a correction changes.

    Attributes
    ----------
    bias, standard_uncertainty
        Shares where the method's figures are, else in unit.
    """

    bias: float
    standard_uncertainty: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Warrant:
    """Whether a correction is worth making.

    Attributes
    ----------
    warranted
        Whether the bias is told from none and is large enough to matter.
    p_value
        Chance of such a bias where there is none.
    at
        Reading of the range at which the bias is largest against the method's uncertainty.
    bias, interval
        What the correction takes away there, in unit.
    share
        Size of that bias in standard uncertainties of the method.
    uncorrected_uncertainty
        Standard uncertainty to be stated there if it is left in, in unit.
    """

    warranted: bool
    p_value: float
    at: float
    bias: float
    interval: Interval
    share: float
    uncorrected_uncertainty: float


def as_method_figures(
    correction: Correction, method: Method, *, at: float | None = None
) -> CorrectedFigures:
    """Bias and standard uncertainty of a method under a correction.

    Parameters
    ----------
    correction
        In the unit of the method's lots.
    method
        As it stands, with the uncertainty it has without this correction.
    at
        Reading at which they are wanted; needed for a line, and for a ratio or shift whose
        figures the method states the other way.

    Returns
    -------
    CorrectedFigures
        To be set on the method: `acceptance.lot_mean` then divides by one plus the bias, or
        takes the bias off, and joins the uncertainty.

    Raises
    ------
    InvalidInput
        If `at` is needed and missing, or corrects to a value that a share cannot be taken of.

    Notes
    -----
    The bias replaces the one that the method had, for methods are compared before correction.

    References
    ----------
    JCGM 100:2008, 5.1.2: sum of independent parts.
    """
    if at is None:
        at = _anywhere(correction, method)
    corrected = correction.apply(at, 0.0)
    if not method.relative:
        return CorrectedFigures(
            bias=at - corrected.value,
            standard_uncertainty=math.hypot(method.standard_uncertainty, corrected.uncertainty),
        )
    if corrected.value <= 0.0:
        raise _refused(
            f"{at:g} is corrected to {corrected.value:g}, of which there is no share.",
            "State the method's figures in unit.",
        )
    own = corrected.uncertainty / corrected.value
    return CorrectedFigures(
        bias=at / corrected.value - 1.0,
        standard_uncertainty=math.hypot(method.standard_uncertainty, own),
    )


def warrant(
    correction: Correction, method: Method, *, share: float = 0.3, confidence: float = 0.95
) -> Warrant:
    """Whether a correction is worth making: told from none, and large enough to matter.

    Parameters
    ----------
    correction
        To be decided on.
    method
        That it corrects, with its standard uncertainty.
    share
        Of that uncertainty which a bias must exceed to matter.  Left in at 0.3, it would raise
        the uncertainty by less than a twentieth.
    confidence
        At which the bias must differ from none.

    Returns
    -------
    Warrant

    Raises
    ------
    InvalidInput
        If `share` is not positive, or `confidence` not between 0 and 1.

    Notes
    -----
    A shift or ratio is tested by Student's t, a line by Hotelling's T-squared for offset 0 and
    slope 1 together; with few lots that finds a bias in honest methods up to 7 times in a hundred
    where it should 5.  How much it matters is looked at on both ends of the range
    and in its middle.  Without correction the bias joins the uncertainty with its own.

    References
    ----------
    Hotelling, H. (1931), Annals of Mathematical Statistics 2, 360-378.
    JCGM 100:2008, F.2.4.5.  Nordtest TR 537: an uncorrected bias as a part of the uncertainty
    (from memory).  The limit of 0.3 is a rule of thumb; 1.044 = sqrt(1 + 0.3 squared).
    """
    refuse_outside(share, 0.0, math.inf, name="share", where="warrant")
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="warrant")
    middle = (correction.lowest + correction.highest) / 2.0
    at = max(
        (correction.lowest, middle, correction.highest),
        key=lambda value: _over(abs(_bias(correction, value)), _own(method, value)),
    )
    bias, own, doubt = _bias(correction, at), _own(method, at), correction.uncertainty_at(at)
    p_value = _chance_of_bias(correction)
    width = float(stats.t.ppf(0.5 + confidence / 2.0, correction.degrees_of_freedom))
    return Warrant(
        warranted=p_value < 1.0 - confidence and _over(abs(bias), own) > share,
        p_value=p_value,
        at=at,
        bias=bias,
        interval=around(bias, width * doubt),
        share=_over(abs(bias), own),
        uncorrected_uncertainty=math.hypot(own, bias, doubt),
    )


def _anywhere(correction: Correction, method: Method) -> float:
    """A reading that serves for all, where one does."""
    if correction.kind == ("ratio" if method.relative else "shift"):
        return correction.highest
    raise _refused(
        f"a {correction.kind} is not the same at every level for a method whose figures are"
        f" {'shares' if method.relative else 'in unit'}.",
        "State the reading at which bias and uncertainty are wanted.",
    )


def _bias(correction: Correction, value: float) -> float:
    return value - (value - correction.offset) / correction.slope


def _own(method: Method, value: float) -> float:
    return method.on_scale(method.standard_uncertainty, scale="linear", at=value)


def _chance_of_bias(correction: Correction) -> float:
    """Of a statistic this large with offset 0 and slope 1."""
    offset, tilt = correction.offset, correction.slope - 1.0
    a, b, c = correction.offset_variance, correction.slope_variance, correction.covariance
    if correction.kind == "line":
        squared = b * offset**2 - 2.0 * c * offset * tilt + a * tilt**2
        t_squared, degrees = _over(squared, a * b - c**2), correction.degrees_of_freedom
        return float(stats.f.sf(t_squared * (degrees - 1) / (2 * degrees), 2, degrees - 1))
    t = _over(abs(offset if correction.kind == "shift" else tilt), math.sqrt(a + b))
    return 2.0 * float(stats.t.sf(t, correction.degrees_of_freedom))


def _over(size: float, spread: float) -> float:
    """A ratio, where no spread makes any size certain."""
    return size / spread if spread > 0.0 else math.inf if size > 0.0 else 0.0


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="correction", remedy=remedy)
