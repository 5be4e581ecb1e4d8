"""Lines that a sampling plan decides: the share of samples outside the limits, or their number."""

import math
from typing import Final, TypeVar

from spc.acceptance.evidence.lines import LineVerdict, Outcome, limits_on_scale, limits_written
from spc.acceptance.evidence.samples import SampleMeans
from spc.acceptance.plans.attributes import AttributesPlan
from spc.acceptance.plans.estimated import Judgement
from spc.acceptance.plans.variables import VariablesPlan
from spc.acceptance.specification import Line
from spc.digits import percent
from spc.errors import InvalidInput, NoSpread

Number = TypeVar("Number", int, float)

_NO_NUMBERS: Final = (
    "Measure again the samples that are known as intervals only, diluted into the calibrated"
    " range or by a more sensitive method."
)
_VERBS: Final[dict[Outcome, str]] = {
    "conforming": "conforms",
    "not conforming": "does not conform",
    "undecided": "is not settled",
}


def judge_planned(line: Line, samples: SampleMeans) -> LineVerdict:
    """A line that a plan decides, against the samples of one method.

    Parameters
    ----------
    line
        With the requirement ``"proportion"`` and `plan_n` and `plan_k`, or ``"count"`` and
        `plan_n` and `plan_c`.
    samples
        In the unit and on the scale and basis of the line.

    Returns
    -------
    LineVerdict
        Without a chance: a plan's risks are those of its operating-characteristic curve.

    Raises
    ------
    InvalidInput
        If the line has no limit, or its plan is not complete.

    Notes
    -----
    Fewer samples than the plan asks for leave a line undecided, unless more of them than the plan
    allows lie outside already.  More samples than it asks for all count: none is chosen, and with
    more the same constants only tell good lots from bad ones better.

    References
    ----------
    MIL-STD-414 (1957), section B, and MIL-STD-105E (1989), section 4.
    """
    if line.plan_n is None or (line.lower is None and line.upper is None):
        raise InvalidInput(
            f"{line.characteristic} has no number of samples or no limit.",
            where="plan of a line",
            remedy="Give plan_n, and a lower or an upper limit.",
        )
    if line.requirement == "count":
        return _by_count(line, samples, n=line.plan_n)
    return _by_share(line, samples, n=line.plan_n)


def _by_count(line: Line, samples: SampleMeans, *, n: int) -> LineVerdict:
    plan = AttributesPlan(n=n, c=_given(line.plan_c, line))
    failing = int(samples.outside(line).sum())
    doubtful = samples.size - failing - int(samples.inside(line).sum())
    counted = f"{failing} of {_samples(samples.size)} outside {limits_written(line)}"
    if doubtful:
        counted += f" and {doubtful} not known"
    told = f"{counted}; the plan allows {plan.c} of {plan.n}{_all_count(samples.size, n)}"
    if failing > plan.c:
        return _verdict(line, samples, "not conforming", told)
    if samples.size < n:
        return _verdict(line, samples, "undecided", told, remedy=_missing(n - samples.size))
    if failing + doubtful > plan.c:
        return _verdict(line, samples, "undecided", told, remedy=_NO_NUMBERS)
    return _verdict(line, samples, "conforming", told)


def _by_share(line: Line, samples: SampleMeans, *, n: int) -> LineVerdict:
    k = _given(line.plan_k, line)
    asked = f"the plan asks for {n} samples and k = {k:g}"
    if samples.size < n:
        told = f"{_samples(samples.size)} measured; {asked}"
        return _verdict(line, samples, "undecided", told, remedy=_missing(n - samples.size))
    if not samples.exact.all():
        told = (
            f"{int((~samples.exact).sum())} of {_samples(samples.size)} without a number; {asked}"
        )
        return _verdict(line, samples, "undecided", told, remedy=_NO_NUMBERS)
    lower, upper = limits_on_scale(line)
    try:
        found = VariablesPlan(n=samples.size, k=k).judge(samples.on_scale, lower=lower, upper=upper)
    except NoSpread:
        return _all_equal(line, samples)
    allowed = f"k = {k:g} allows {percent(found.most_outside)}{_all_count(samples.size, n)}"
    told = (
        f"estimated share outside {limits_written(line)} {percent(found.estimated_outside)} from"
        f" {_samples(samples.size)} (quality index {_index(found):.2f}); the plan with {allowed}"
    )
    return _verdict(line, samples, "conforming" if found.accepted else "not conforming", told)


def _all_equal(line: Line, samples: SampleMeans) -> LineVerdict:
    told = f"all {samples.size} samples are equal, so they show no share outside"
    if samples.outside(line).all():
        told = f"all {samples.size} samples are equal, and outside {limits_written(line)}"
        return _verdict(line, samples, "not conforming", told)
    remedy = "Check whether the values were copied or rounded before they arrived."
    return _verdict(line, samples, "undecided", told, remedy=remedy)


def _verdict(
    line: Line, samples: SampleMeans, outcome: Outcome, told: str, *, remedy: str = ""
) -> LineVerdict:
    basis = f" {line.basis}" if line.basis else ""
    return LineVerdict(
        line=line,
        outcome=outcome,
        probability=(math.nan, math.nan),
        mean=None,
        reason=f"{line.characteristic}{basis} by {samples.method} {_VERBS[outcome]}: {told}.",
        remedy=remedy,
    )


def _index(found: Judgement) -> float:
    both = (found.quality_lower, found.quality_upper)
    return min(one for one in both if one is not None)


def _given(value: Number | None, line: Line) -> Number:
    if value is None:
        raise InvalidInput(
            f"the plan of {line.characteristic} is not complete.",
            where="plan of a line",
            remedy="Give plan_k for a proportion, plan_c for a count.",
        )
    return value


def _samples(count: int) -> str:
    return f"{count} sample{'s' if count != 1 else ''}"


def _all_count(size: int, n: int) -> str:
    return f", and all {size} count" if size > n else ""


def _missing(count: int) -> str:
    return f"{count} more sample{'s' if count != 1 else ''} would complete the plan."
