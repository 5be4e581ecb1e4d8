"""A correction of one method to another: how it changes a lot mean, and what it adds to doubt."""

import math
from dataclasses import dataclass
from typing import Final, Literal

from spc.compare.between_methods.method_comparison import MethodComparison
from spc.errors import InvalidInput, TooFewLots

CorrectionKind = Literal["shift", "ratio", "line"]

# Rule of thumb, no source: the factor of Student's t is below 2.6 from here on.
FEWEST_LOTS: Final = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class CorrectedValue:
    """A value with the correction made and its uncertainty joined.

    Attributes
    ----------
    value, uncertainty
        Corrected, with the standard uncertainty of value and correction together; in unit.
    within_range
        Whether the value given lies among those that the correction rests on.
    """

    value: float
    uncertainty: float
    within_range: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """What a method reads of lots whose reference value is known: offset + slope x reference.

    Plain numbers and one word, to be stored as they are.  Stored readings stay as they were
    measured; a corrected value is worked out from them, under the version in force.

    Attributes
    ----------
    kind
        ``"shift"`` (slope 1), ``"ratio"`` (offset 0) or ``"line"``.
    offset, slope
        Of what is read on what is there, in unit.
    offset_variance, slope_variance, covariance
        Of the two; nothing of one that is held.
    degrees_of_freedom
        Behind them.
    residual_sd
        Scatter of single lots about the correction: in unit; for a ratio, and a line
        whose lots were weighted, a share.  The correction does not take it away: it belongs into
        the method's own uncertainty.
    lowest, highest
        Range of readings that it rests on, in unit.
    lots
        How many it rests on.
    """

    kind: CorrectionKind
    offset: float
    slope: float
    offset_variance: float
    slope_variance: float
    covariance: float
    degrees_of_freedom: int
    residual_sd: float
    lowest: float
    highest: float
    lots: int

    def uncertainty_at(self, value: float) -> float:
        """Standard uncertainty that the correction alone gives a corrected value, in unit."""
        at = (value - self.offset) / self.slope
        variance = self.offset_variance + 2.0 * at * self.covariance + at**2 * self.slope_variance
        return math.sqrt(variance) / abs(self.slope)

    def apply(self, value: float, uncertainty: float) -> CorrectedValue:
        """Correct a lot mean.

        Parameters
        ----------
        value, uncertainty
            Of the method that is corrected, with its standard uncertainty; in unit.

        Returns
        -------
        CorrectedValue
            Worked out beyond the range of the correction too, and marked so.

        Raises
        ------
        InvalidInput
            If the value is not finite or the uncertainty negative.

        Notes
        -----
        To first order, value and correction being independent of each other.

        References
        ----------
        JCGM 100:2008, 5.2.2.  NIST/SEMATECH e-Handbook of Statistical Methods, section 2.3.6:
        a straight line turned round.
        """
        if not (math.isfinite(value) and uncertainty >= 0.0):
            raise _refused(
                f"{value:g} with standard uncertainty {uncertainty:g} cannot be corrected.",
                "Correct finite values with an uncertainty of zero or more.",
            )
        return CorrectedValue(
            value=(value - self.offset) / self.slope,
            uncertainty=math.hypot(uncertainty / self.slope, self.uncertainty_at(value)),
            within_range=self.lowest <= value <= self.highest,
        )


def correction(comparison: MethodComparison, *, reference_uncertainty: float = 0.0) -> Correction:
    """The correction that a comparison with a reference method gives.

    Parameters
    ----------
    comparison
        Of the lots of one stratum (a material, or a material from one supplier), x by the
        reference method.  Differences give a shift, on log scale a ratio; the Deming kinds on
        linear scale a line.
    reference_uncertainty
        Standard uncertainty that all values by the reference method share, and more lots do not
        shrink: in unit for a shift, else a share.

    Returns
    -------
    Correction
        In the unit of the comparison.

    Raises
    ------
    TooFewLots
        If it rests on fewer than six lots.
    InvalidInput
        If the kind of line has no standard errors or no unit, the slope is not positive, or the
        uncertainty is negative.

    Notes
    -----
    The mean of log ratios is turned into a ratio to first order.

    References
    ----------
    JCGM 100:2008, 3.2.3 and 6.3.1: a correction is made, and its uncertainty joins the result's.
    Nordtest TR 537, section on bias: scatter of the bias over its root number, and the reference's
    own uncertainty (from memory).
    """
    line, kind = comparison.line, _kind(comparison)
    if comparison.lots < FEWEST_LOTS:
        raise TooFewLots(needed=FEWEST_LOTS, given=comparison.lots, where="correction")
    if not 0.0 <= reference_uncertainty < math.inf:
        raise _refused(
            f"a reference uncertainty of {reference_uncertainty:g} is not possible.",
            "Give a standard uncertainty of zero or more.",
        )
    slope = math.exp(line.intercept) if kind == "ratio" else line.slope
    if slope <= 0.0:
        raise _refused(
            f"a slope of {slope:g} corrects nothing.", "Compare lots over a wider range."
        )
    own = line.intercept_error if kind == "ratio" else line.slope_error / slope
    shared = reference_uncertainty
    return Correction(
        kind=kind,
        offset=0.0 if kind == "ratio" else line.intercept,
        slope=slope,
        offset_variance={
            "shift": line.intercept_error**2 + shared**2,
            "ratio": 0.0,
            "line": line.intercept_error**2,
        }[kind],
        slope_variance=0.0 if kind == "shift" else slope**2 * (own**2 + shared**2),
        covariance=line.covariance if kind == "line" else 0.0,
        degrees_of_freedom=comparison.lots - (2 if kind == "line" else 1),
        residual_sd=comparison.residual_sd,
        lowest=comparison.lowest,
        highest=comparison.highest,
        lots=comparison.lots,
    )


def _kind(comparison: MethodComparison) -> CorrectionKind:
    if comparison.kind == "differences":
        return "ratio" if comparison.scale == "log" else "shift"
    if comparison.kind == "passing-bablok":
        raise _refused(
            "a Passing-Bablok line has no standard errors to hand on.",
            'Compare with kind "deming" or "weighted-deming".',
        )
    if comparison.scale == "log":
        raise _refused(
            "a line between logarithms is a power, not a correction in unit.",
            'Compare with kind "weighted-deming", or with "differences" on log scale.',
        )
    return "line"


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="correction", remedy=remedy)
