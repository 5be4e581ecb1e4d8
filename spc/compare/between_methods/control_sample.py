"""A control sample measured again and again, and whether each sensor batch still reads it right."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import stats

from spc.charts import on_log_scale, run_rules
from spc.charts.lots import Scale
from spc.charts.refusals import refuse_unfinished
from spc.charts.rules.rules import checked_starts
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

# The two rules that ask for a remedy on the bench: repeat the reading, or open another batch.
# The others speak of slow movements, which the mean of a batch tells better.
CONTROL_RULES: Final = ("beyond limits", "nine on one side")
# A batch of fewer readings cannot tell its own error from that of one reading.
FEWEST_READINGS: Final = 3
# Below this many degrees of freedom three sigmas are a guess, and nothing signals.
FEWEST_DEGREES: Final = 10
_RISK: Final = 0.0027


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ControlSample:
    """Readings of one control sample on one instrument, batch after batch.

    Attributes
    ----------
    sigma, degrees
        Standard deviation of single readings within a batch and its degrees of freedom: in the
        unit of the readings, on log scale a share.
    z : shape (readings,)
        Distance of each reading from the assigned value, in `sigma`; NaN, so that nothing
        signals, while `sigma` rests on fewer than `FEWEST_DEGREES`.
    signals : bool, shape (readings, rules)
        Where a rule of `CONTROL_RULES` is completed; patterns begin anew with each batch.
    readings : shape (batches,)
        How many each batch has.
    deviation, low, high : shape (batches,)
        Mean of the batch less the assigned value with its interval: in the unit of the readings,
        on log scale a share (0.08 reads 8 % high).  The interval includes the uncertainty of the
        assigned value.
    off : bool, shape (batches,)
        Whether the deviation is more than chance explains, at a risk of 0.27 % a batch.
    enough : bool, shape (batches,)
        Whether the batch has `FEWEST_READINGS`; nothing is said of those that do not.
    """

    sigma: float
    degrees: int
    z: Floats
    signals: NDArray[np.bool_]
    readings: NDArray[np.int64]
    deviation: Floats
    low: Floats
    high: Floats
    off: NDArray[np.bool_]
    enough: NDArray[np.bool_]


def control_sample(
    value: ArrayLike,
    starts: ArrayLike,
    *,
    assigned: float,
    standard_uncertainty: float = 0.0,
    scale: Scale = "linear",
    confidence: float = 0.95,
) -> ControlSample:
    """Judge every sensor batch by what it read of a sample whose value is known.

    Parameters
    ----------
    value : shape (readings,)
        Readings of the control sample, batch after batch, each in order of time.
    starts : shape (batches,)
        Index of each batch's first reading.
    assigned, standard_uncertainty
        Of the control sample, in the unit of the readings.
    scale
        On ``"log"`` deviations are shares of the assigned value.
    confidence
        Of the interval of a batch's deviation.

    Returns
    -------
    ControlSample

    Raises
    ------
    InvalidInput
        If a reading is missing, the assigned value is not positive on log scale or its uncertainty
        negative, or no batch has two readings, so that nothing is known of their spread.
    NotPositive
        If a reading on log scale is zero or negative.

    Notes
    -----
    The spread within batches is pooled over all of them, so that one bad batch does not widen the
    limits it is judged by; what its batch mean is worth follows from Student's t with the pooled
    degrees of freedom, and from the uncertainty of the assigned value.

    References
    ----------
    ISO 5725-6:1994, 6: checking trueness and the stability of results within a laboratory.
    """
    readings = np.asarray(value, dtype=np.float64)
    refuse_unfinished(readings, where="control_sample")
    first = checked_starts(starts, readings.size, where="control_sample")
    worked, centre, known = _worked(readings, assigned, standard_uncertainty, scale)
    size = np.diff(first, append=readings.size)
    mean = np.add.reduceat(worked, first) / size
    degrees = int((size - 1).sum())
    if degrees == 0:
        raise InvalidInput(
            "no batch has two readings, so their spread is not known.",
            where="control_sample",
            remedy="Read the control sample at least twice with a batch.",
        )
    sigma = float(np.sqrt(np.square(worked - np.repeat(mean, size)).sum() / degrees))
    error = np.hypot(sigma / np.sqrt(size), known)
    deviation = mean - centre
    reach = stats.t.ppf(0.5 + confidence / 2.0, degrees) * error
    enough = size >= FEWEST_READINGS
    known_well = sigma > 0.0 and degrees >= FEWEST_DEGREES
    z = (worked - centre) / sigma if known_well else np.full_like(worked, np.nan)
    return ControlSample(
        sigma=sigma,
        degrees=degrees,
        z=z,
        signals=run_rules(z, rules=CONTROL_RULES, starts=first),
        readings=size,
        deviation=_shown(deviation, scale),
        low=_shown(deviation - reach, scale),
        high=_shown(deviation + reach, scale),
        off=enough & (np.abs(deviation) > stats.t.isf(_RISK / 2.0, degrees) * error),
        enough=enough,
    )


def _worked(
    readings: Floats, assigned: float, uncertainty: float, scale: Scale
) -> tuple[Floats, float, float]:
    """Readings, assigned value and its uncertainty on the scale that deviations are worked on."""
    if uncertainty < 0.0 or not np.isfinite(assigned) or (scale == "log" and assigned <= 0.0):
        raise InvalidInput(
            f"the assigned value {assigned:g} with standard uncertainty {uncertainty:g}"
            " cannot be used.",
            where="control_sample",
            remedy="State a value above zero with an uncertainty of zero or more.",
        )
    if scale == "log":
        logs = on_log_scale(readings)
        return logs, float(np.log(assigned)), uncertainty / assigned
    return readings, assigned, uncertainty


def _shown(deviation: Floats, scale: Scale) -> Floats:
    return np.expm1(deviation) if scale == "log" else deviation
