"""What the evidence says of one line of a specification, and how it is put into words."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from spc.acceptance.evidence.evidence import LotMean, Readings
from spc.acceptance.specification import Line
from spc.digits import THIN, percent

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
        reading lies outside the calibrated range.  NaN without a result and where a plan decides,
        0 or 1 for absence.
    mean
        What the line was judged on; None where that is no mean.
    reason
        What was found, what it means, and the rule or plan by which.
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


def limits_written(line: Line) -> str:
    """The limits exactly as the specification states them.

    Parameters
    ----------
    line
        With one limit or two.

    Returns
    -------
    str
        For example ``"at most 5 µg/kg"``.
    """
    if line.lower is None:
        return f"at most {_limit(line.upper)} {line.unit}"
    if line.upper is None:
        return f"at least {_limit(line.lower)} {line.unit}"
    return f"{_limit(line.lower)} to {_limit(line.upper)} {line.unit}"


def _limit(value: float | None) -> str:
    return "" if value is None else f"{value:,.10g}".replace(",", THIN)
