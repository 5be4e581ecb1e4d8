"""Lines whose limits hold for the lot mean."""

import math
from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from spc.acceptance.conformity import MOST_SAMPLES, Risks, Settling, conformity, more_samples
from spc.acceptance.evidence.evidence import LotMean
from spc.acceptance.evidence.lines import (
    LineVerdict,
    Outcome,
    limits_on_scale,
    limits_written,
    odds,
)
from spc.acceptance.evidence.samples import SampleMeans
from spc.acceptance.rules import decide, in_words, settling_risks
from spc.acceptance.specification import Line
from spc.digits import written


def judge_average(line: Line, mean: LotMean, *, samples: Sequence[SampleMeans] = ()) -> LineVerdict:
    """A line whose limits hold for the lot mean.

    Parameters
    ----------
    line
        With the requirement ``"average"``.
    mean
        In the unit and on the scale and basis of the line.
    samples
        What the samples say one by one, an entry a method; looked at where the line asks for it.

    Returns
    -------
    LineVerdict
        Conforming, not conforming, or undecided with what would settle it.

    Raises
    ------
    InvalidInput
        If the line has no limit.

    Notes
    -----
    Where a line looks at each sample, one that lies outside the limits, or may, keeps the lot
    from conforming, and one that lies outside by more than its own expanded uncertainty (k = 2)
    makes it not conforming, whatever the mean.

    References
    ----------
    JCGM 106:2012, 7 (conformance probability) and 8 (rules of decision).
    """
    chance = _probability_range(line, mean)
    outcome = decide(line, mean, chance)
    judged = LineVerdict(
        line=line,
        outcome=outcome,
        probability=chance,
        mean=mean,
        reason=f"{_found(line, mean, outcome, chance)} {in_words(line)}",
        remedy=_remedy(line, mean) if outcome == "undecided" else "",
    )
    return _each_sample(judged, samples) if line.each_sample else judged


def _each_sample(judged: LineVerdict, samples: Sequence[SampleMeans]) -> LineVerdict:
    """The verdict with what an average would hide."""
    line = judged.line
    of = sum(one.size for one in samples)
    failing = sum(int(one.outside(line).sum()) for one in samples)
    doubtful = of - failing - sum(int(one.inside(line).sum()) for one in samples)
    if not failing + doubtful:
        return judged
    but = "But " if judged.outcome == "conforming" else ""
    told = f"{judged.reason} {but}{_failing_words(failing, doubtful, of)}"
    if any(np.any(one.beyond(line)) for one in samples):
        told += " At least one lies outside by more than its own expanded uncertainty (k = 2)."
        return replace(judged, outcome="not conforming", reason=told, remedy="")
    if judged.outcome != "conforming":
        return replace(judged, reason=told)
    remedy = (
        "More samples would not undo it: measure that sample again by a method with a smaller"
        " uncertainty, or at a second laboratory."
    )
    return replace(judged, outcome="undecided", reason=told, remedy=remedy)


def _failing_words(failing: int, doubtful: int, of: int) -> str:
    count, verb = (failing, "lie") if failing else (doubtful, "may lie")
    singular = "lies" if failing else "may lie"
    return (
        f"{count} of {of} sample{'s' if of != 1 else ''} {singular if count == 1 else verb}"
        " outside the limits, and this line lets no average hide it."
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


def _found(line: Line, mean: LotMean, outcome: Outcome, chance: tuple[float, float]) -> str:
    basis = f" {line.basis}" if line.basis else ""
    found = f"{line.characteristic} {_mean_written(mean)}{basis} by {mean.method.method}"
    ends = dict.fromkeys(odds(mean, one) for one in chance)
    words = {
        "conforming": f"conforms to {limits_written(line)}",
        "not conforming": f"does not conform to {limits_written(line)}",
        "undecided": f"is not settled against {limits_written(line)}",
    }
    return f"{found} {words[outcome]} (chance of conforming {' to '.join(ends)})."


def _mean_written(mean: LotMean) -> str:
    number = written(mean.value, uncertainty=mean.uncertainty_in_unit, unit=mean.unit)
    if math.isinf(mean.high):
        return f"above {number}"
    return f"below {number}" if mean.low <= 0.0 < mean.high else number


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
    risks = settling_risks(line)
    if risks is None:
        return (
            "Readings are known as intervals that reach across the limit; measure again by a"
            " method that gives numbers."
        )
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
