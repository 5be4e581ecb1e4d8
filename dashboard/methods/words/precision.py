"""How repeatable a method is, within one laboratory and between several."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from dashboard.frame.words import count
from spc.answers.method_spread import READING
from spc.compare.spread.variance_components import Components
from spc.compare.studies.method_figures import MethodFigures
from spc.compare.studies.precision_study import Repeatability
from spc.digits import percent, written


def size(sd: float, *, log: bool, unit: str) -> str:
    """A standard deviation: on log scale a share, else in unit."""
    return percent(sd) if log else written(sd, uncertainty=sd, unit=unit)


def between(found: Components, name: str, *, log: bool, unit: str) -> str:
    """One component with its interval, or why nothing can be said of it."""
    at = found.names.index(name)
    within = interval(found, name, log=log, unit=unit)
    return (
        within if found.reasons[at] else f"{size(found.sd_of(name), log=log, unit=unit)} ({within})"
    )


def interval(found: Components, name: str, *, log: bool, unit: str) -> str:
    """The interval of one component, or why nothing can be said of it."""
    at = found.names.index(name)
    if found.reasons[at]:
        return f"cannot be said: {found.reasons[at]}"
    ends = (math.sqrt(end[at]) for end in (found.interval_low, found.interval_high))
    return " to ".join(size(end, log=log, unit=unit) for end in ends)


def spread(found: Components, *, of: str, log: bool, unit: str) -> str:
    """Where the spread of routine readings sits."""
    known = [name for name, reason in zip(found.names, found.reasons, strict=True) if not reason]
    largest = max(known, key=lambda name: float(found.share[found.names.index(name)]))
    share = percent(float(found.share[found.names.index(largest)]))
    return (
        f"Readings of one bag {of} scatter by"
        f" {between(found, READING, log=log, unit=unit)}; most of the variance, {share}, lies"
        f" between {_plural(largest)}."
    )


def _plural(name: str) -> str:
    return "readings of one bag" if name == READING else f"{name}s"


def against_stated(found: Components, stated_sd: float, *, log: bool, unit: str) -> str:
    """The stated repeatability beside the one found."""
    told = size(stated_sd, log=log, unit=unit)
    if differs(found, stated_sd):
        at = found.names.index(READING)
        more = "larger" if found.sd[at] > stated_sd else "smaller"
        return f"Stated is {told}: what is found is {more}, by more than chance explains."
    return f"Stated is {told}, which lies within the interval of what is found."


def differs(found: Components, stated_sd: float) -> bool:
    """Whether the stated repeatability lies outside the interval of the one found."""
    at = found.names.index(READING)
    low, high = found.interval_low[at], found.interval_high[at]
    return not bool(low <= stated_sd**2 <= high)


HOW_SPREAD: Final = (
    "Variance components by restricted maximum likelihood, with the groups as unequal as they are;"
    " 95 % intervals by the profile of the likelihood. On log scale a standard deviation is a share"
    " of the value. A level with a lower end of zero may have no spread of its own."
)


NO_STUDY: Final = (
    "No comparison between laboratories is on record for this method. Receive what several"
    " laboratories read of the same control samples, with the laboratory where the instrument"
    " stands; repeatability and reproducibility follow from it (ISO 5725-2)."
)
HOW_STUDY: Final = (
    "ISO 5725-2: at each sample the spread of readings within laboratories, s_r, and between them,"
    " s_L; together s_R. Two readings of one laboratory differ by more than r, of two laboratories"
    " by more than R, once in 20 times. Nothing is left out unless a person does so with a reason."
)
H_WORDS: Final = (
    "h: how far each laboratory's mean lies from the mean of all, in standard deviations between"
    " laboratories. Chance alone passes the lines 5 and 1 times in 100. Each laboratory has a stem"
    " for every sample, from the lowest to the highest."
)
K_WORDS: Final = (
    "k: how much each laboratory's readings scatter, beside the scatter within all laboratories."
)
_TESTS: Final = {
    "variance": ("scatters more than the others", "Cochran"),
    "mean": ("lies away from the others", "Grubbs"),
    "pair of means": ("lie away from the others on one side", "Grubbs, pairs"),
}


def study(found: Repeatability, *, unit: str) -> str:
    """Repeatability and reproducibility over all levels, as shares of each level's mean."""
    inside = found.repeatability_sd / found.mean
    whole = found.reproducibility_sd / found.mean
    return (
        f"{count(len(found.laboratories), 'laboratory', 'laboratories')} read"
        f" {count(len(found.levels), 'sample')} between {written(float(found.mean.min()))} and"
        f" {written(float(found.mean.max()), unit=unit)}: one laboratory repeats itself within"
        f" {_span(inside)}, different laboratories agree within {_span(whole)} (standard"
        " deviations)."
    )


def _span(shares: NDArray[np.float64]) -> str:
    low, high = percent(float(shares.min())), percent(float(shares.max()))
    return low if low == high else f"{low} to {high}"


def suspects(found: Repeatability) -> list[str]:
    """What the outlier tests found, a sentence each."""
    told = []
    for one in found.suspects:
        does, test = _TESTS[one.test]
        risk, critical = (
            ("1 %", one.critical_1) if one.standing == "outlier" else ("5 %", one.critical_5)
        )
        beyond = "below" if one.test == "pair of means" else "above"
        told.append(
            f"{' and '.join(one.laboratories)} {does} at {one.level}: {one.standing} ({test}"
            f" {one.statistic:.3f}, {beyond} {critical:.3f} at {risk})."
        )
    return told or ["No laboratory stands out: neither Cochran's nor Grubbs' tests find any."]


def left_out(found: Repeatability) -> list[str]:
    """What a person left out, and why."""
    return [
        f"Left out: {one.laboratory}{f' at {one.level}' if one.level else ''} ({one.reason})."
        for one in found.left_out
    ]


def figures_of_study(found: MethodFigures) -> str:
    """What of a study a method takes over, and why not all of it."""
    told = [
        percent(one) if found.relative else written(one, uncertainty=one)
        for one in (found.repeatability, found.standard_uncertainty)
    ]
    return (
        f"Over all samples the repeatability is {told[0]}, and between laboratories, which more"
        f" samples read in one of them do not shrink, {told[1]}"
        f" ({found.uncertainty_degrees:.1f} degrees of freedom at the sample that tells least)."
    )
