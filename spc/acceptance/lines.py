"""One line of a specification against what was measured of it."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np

from spc.acceptance.conformity import (
    MOST_SAMPLES,
    Risks,
    Settling,
    conformity,
    more_samples,
)
from spc.acceptance.evidence import LotMean, Readings
from spc.acceptance.specification import Line
from spc.digits import percent, written

Outcome = Literal["conforming", "not conforming", "undecided", "no result"]

# Of a normal distribution no chance is 0 or 1; a double only cannot hold the difference.
_ALMOST_NEVER: Final = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class LineVerdict:
    """What the evidence says of one line.

    Attributes
    ----------
    outcome
        Conforming, not conforming, undecided, or no result.
    probability
        Lowest and highest chance of conforming that the readings allow; they differ only where a
        reading lies outside the calibrated range.  NaN without a result, 0 or 1 for absence.
    mean
        What the line was judged on; None without a result.
    reason
        One sentence: what was found and what it means.
    remedy
        What would settle it; empty when it is settled.
    """

    line: Line
    outcome: Outcome
    probability: tuple[float, float]
    mean: LotMean | None
    reason: str
    remedy: str = ""


def no_result(line: Line, *, why: str, remedy: str = "") -> LineVerdict:
    """A line that cannot be judged yet, and why.

    Parameters
    ----------
    line
        That asks for the result.
    why
        One sentence.
    remedy
        What would help; by default a measurement by a method that may decide.

    Returns
    -------
    LineVerdict
        Without a result.
    """
    return LineVerdict(
        line=line,
        outcome="no result",
        probability=(math.nan, math.nan),
        mean=None,
        reason=why,
        remedy=remedy or f"Measure {line.characteristic} by an admissible method.",
    )


def judge_absence(line: Line, readings: Sequence[Readings]) -> LineVerdict:
    """A line that any detection fails; every admissible reading counts, whatever its method.

    Parameters
    ----------
    line
        With the requirement ``"absent"``.
    readings
        Whose lower end is above zero where something was detected.

    Returns
    -------
    LineVerdict
        Conforming or not conforming.

    Notes
    -----
    Absence in the portions tested is what the line asks for; it is no chance of absence from
    the lot, so no sentence states one.
    """
    detected = sum(int((one.low > 0.0).sum()) for one in readings)
    tested = sum(int(one.low.size) for one in readings)
    outcome: Outcome = "not conforming" if detected else "conforming"
    found = f"detected in {detected} of {tested}" if detected else f"not detected in {tested}"
    return LineVerdict(
        line=line,
        outcome=outcome,
        probability=(0.0, 0.0) if detected else (1.0, 1.0),
        mean=None,
        reason=f"{line.characteristic}: {found} test{'s' if tested != 1 else ''} ({line.unit}).",
    )


def judge_average(line: Line, mean: LotMean) -> LineVerdict:
    """A line whose limits hold for the lot mean.

    Parameters
    ----------
    line
        With the requirement ``"average"``.
    mean
        In the unit and on the scale and basis of the line.

    Returns
    -------
    LineVerdict
        Conforming, not conforming, or undecided with what would settle it.

    Raises
    ------
    InvalidInput
        If the line has no limit.

    References
    ----------
    JCGM 106:2012, 7 (conformance probability) and 8.3 (guarded decisions): conforming when the
    probability is at least 1 - consumer risk, not conforming when it is at most producer risk.
    """
    low, high = _probability_range(line, mean)
    outcome: Outcome = "undecided"
    if low >= 1.0 - line.consumer_risk:
        outcome = "conforming"
    elif high <= line.producer_risk:
        outcome = "not conforming"
    return LineVerdict(
        line=line,
        outcome=outcome,
        probability=(low, high),
        mean=mean,
        reason=_reason(line, mean, outcome, (low, high)),
        remedy=_remedy(line, mean) if outcome == "undecided" else "",
    )


def limits_on_scale(line: Line) -> tuple[float | None, float | None]:
    """The limits of a line on the scale it is judged on.

    Parameters
    ----------
    line
        On log scale its limits are above zero.

    Returns
    -------
    lower, upper
        None where there is none.
    """
    if line.scale == "linear":
        return line.lower, line.upper
    return (
        None if line.lower is None else math.log(line.lower),
        None if line.upper is None else math.log(line.upper),
    )


def _on_scale(value: float, scale: str) -> float:
    if scale == "linear":
        return value
    if value <= 0.0:
        return -math.inf
    return math.log(value) if math.isfinite(value) else math.inf


def _probability_range(line: Line, mean: LotMean) -> tuple[float, float]:
    """Chance of conforming at both ends of the mean, and at the best place between them.

    The chance falls away from the middle of the limits on either side, so its smallest value over
    an interval is at an end, and its largest at the end nearest to the middle or in the middle.
    """
    lower, upper = limits_on_scale(line)
    low, high = _on_scale(mean.low, line.scale), _on_scale(mean.high, line.scale)
    places = [low, high]
    if lower is not None and upper is not None and low < (lower + upper) / 2.0 < high:
        places.append((lower + upper) / 2.0)
    chance = conformity(np.array(places), mean.uncertainty, lower=lower, upper=upper)
    return float(chance[:2].min()), float(chance.max())


def odds(mean: LotMean, chance: float) -> str:
    """A chance of conforming in words; certain only where the mean is known exactly.

    Parameters
    ----------
    mean
        What the chance was computed from.
    chance
        From 0 to 1.

    Returns
    -------
    str
        In per cent.
    """
    if mean.uncertainty == 0.0:
        return percent(chance)
    return percent(min(max(chance, _ALMOST_NEVER), 1.0 - _ALMOST_NEVER))


def _reason(line: Line, mean: LotMean, outcome: Outcome, chance: tuple[float, float]) -> str:
    basis = f" {line.basis}" if line.basis else ""
    found = f"{line.characteristic} {_mean_written(mean)}{basis} by {mean.method.method}"
    ends = dict.fromkeys(odds(mean, one) for one in chance)
    words = {
        "conforming": f"conforms to {_limits_written(line)}",
        "not conforming": f"does not conform to {_limits_written(line)}",
        "undecided": f"is not settled against {_limits_written(line)}",
    }
    return f"{found} {words[outcome]} (chance of conforming {' to '.join(ends)})."


def _mean_written(mean: LotMean) -> str:
    number = written(mean.value, uncertainty=mean.uncertainty_in_unit, unit=mean.unit)
    if math.isinf(mean.high):
        return f"above {number}"
    return f"below {number}" if mean.low <= 0.0 < mean.high else number


def _limits_written(line: Line) -> str:
    if line.lower is None:
        return f"at most {_limit(line.upper)} {line.unit}"
    if line.upper is None:
        return f"at least {_limit(line.lower)} {line.unit}"
    return f"{_limit(line.lower)} to {_limit(line.upper)} {line.unit}"


def _limit(value: float | None) -> str:
    """A limit exactly as the specification states it."""
    return "" if value is None else f"{value:,.10g}".replace(",", "\N{NARROW NO-BREAK SPACE}")


def _remedy(line: Line, mean: LotMean) -> str:
    if math.isinf(mean.high):
        return (
            "Readings lie above the calibrated range; dilute so that they fall inside it"
            " and measure again."
        )
    if mean.is_open:
        return (
            f"Readings lie below the quantification limit of {mean.method.method}, which is too"
            " high for this line; measure again by a more sensitive method."
        )
    risks = Risks(consumer=line.consumer_risk, producer=line.producer_risk)
    lower, upper = limits_on_scale(line)
    settling = more_samples(
        _on_scale(mean.value, line.scale),
        within=mean.within.sigma,
        method=mean.method_part,
        risks=risks,
        lower=lower,
        upper=upper,
    )
    return _sampling_remedy(mean, settling, risks)


def _sampling_remedy(mean: LotMean, settling: Settling, risks: Risks) -> str:
    if settling.samples is not None:
        more = max(settling.samples - mean.samples, 1)
        return (
            f"About {more} more sample{'s' if more != 1 else ''} would settle it if the mean"
            " stays where it is."
        )
    if risks.decided(settling.best_probability):
        return (
            f"It would take more than {MOST_SAMPLES} samples to settle it: the mean lies too"
            " close to the limit."
        )
    return (
        "No number of further samples would settle it: the uncertainty of"
        f" {mean.method.method} itself is too large. A method with a smaller uncertainty,"
        " or a second laboratory, would."
    )
