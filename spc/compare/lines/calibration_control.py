"""Whether a calibration still holds: control standards read over time."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.compare.lines.least_squares import FittedPolynomial
from spc.errors import InvalidInput

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CalibrationControl:
    """Control readings, each turned into a value by the calibration and set beside the known one.

    Attributes
    ----------
    deviation : shape (days, standards)
        Value found by the calibration less the known one, in the unit of the standards.
    limit
        How far a deviation may lie from zero.
    out : shape (days, standards)
        Whether it lies further.
    days_out : shape (days,)
        Whether any standard of the day does.
    risk
        Chance, a day, that a calibration that holds is called out.
    """

    deviation: Floats
    limit: float
    out: NDArray[np.bool_]
    days_out: NDArray[np.bool_]
    risk: float


def calibration_control(
    line: FittedPolynomial, *, known: ArrayLike, reading: ArrayLike, risk: float = 0.05
) -> CalibrationControl:
    """Deviations of control standards from a straight calibration line, with their limit.

    Parameters
    ----------
    line
        The calibration: reading over known value, straight.
    known : shape (standards,)
        Values of the control standards, such as one low, one in the middle and one high.
    reading : shape (days, standards)
        What the instrument read; NaN for a standard not read that day.
    risk
        Chance of a false alarm, a day.

    Returns
    -------
    CalibrationControl

    Raises
    ------
    InvalidInput
        If the line is no straight one or has no slope, the shapes do not fit, or the risk is not
        between 0 and 1.

    Notes
    -----
    The limit is s t / |slope|, with the residual standard deviation of the calibration and its
    degrees of freedom, at the risk that the standards of a day share: 1 - (1 - risk)^(1 / m) for
    m standards, half of it on either side.

    References
    ----------
    NIST/SEMATECH e-Handbook of Statistical Methods, section 2.3.5.1 (control of a calibrated
    instrument) and 2.3.6.7.
    """
    values, readings = np.asarray(known, dtype=np.float64), np.asarray(reading, dtype=np.float64)
    if int(line.powers[-1]) != 1 or line.coefficients[-1] == 0.0:
        raise _refused("the calibration is not a straight line with a slope.", "Fit degree 1.")
    if values.ndim != 1 or readings.ndim != 2 or readings.shape[1:] != values.shape:
        raise _refused("readings do not have a column a control standard.", "Give days by rows.")
    if not 0.0 < risk < 1.0:
        raise _refused(f"a risk of {risk:g} is none.", "Give one between 0 and 1, usually 0.05.")
    slope = float(line.coefficients[-1])
    constant = float(line.coefficients[0]) if line.powers[0] == 0 else 0.0
    deviation = (readings - constant) / slope - values
    each = 1.0 - (1.0 - risk) ** (1.0 / values.size)
    limit = float(stats.t.isf(each / 2.0, line.degrees)) * line.residual_sd / abs(slope)
    out = np.abs(deviation) > limit
    return CalibrationControl(
        deviation=deviation, limit=limit, out=out, days_out=np.asarray(out.any(axis=1)), risk=risk
    )


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="calibration control", remedy=remedy)
