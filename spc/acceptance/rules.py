"""Rules of decision: how a mean with its uncertainty is held against the limits of a line."""

from typing import Final

from spc.acceptance.conformity import Risks
from spc.acceptance.evidence.evidence import LotMean
from spc.acceptance.evidence.lines import Outcome
from spc.acceptance.evidence.outside import COVERAGE, inside, outside
from spc.acceptance.specification import Line

# No chance is that small: guarded acceptance never rejects what lies inside, however uncertain.
_NEVER: Final = -1.0


def decide(line: Line, mean: LotMean, chance: tuple[float, float]) -> Outcome:
    """The outcome by the rule of the line.

    Parameters
    ----------
    line
        With limits, rule and risks.
    mean
        In the unit and on the scale and basis of the line.
    chance
        Lowest and highest chance of conforming that the readings allow.

    Returns
    -------
    Outcome
        Undecided also where open readings leave two outcomes possible.

    Notes
    -----
    *Two risks*: conforming when the chance is at least 1 - consumer risk, not conforming when it
    is at most the producer risk.  *Simple acceptance*: inside the limits conforms, outside does
    not.  *Guarded acceptance*: conforming as by two risks, not conforming outside the limits.
    *Guarded rejection*: not conforming only where the mean, lowered or raised by its expanded
    uncertainty (k = 2), still lies beyond the limit.  Official control takes the uncertainty of
    the analysis alone, its sampling being prescribed; here that of sampling is in it too, so a
    lot is rejected more seldom.

    References
    ----------
    JCGM 106:2012, 7 (conformance probability), 8.2 (simple acceptance), 8.3.2 (guarded
    acceptance), 8.3.3 (guarded rejection).  Regulation (EU) 2023/2782, sampling and analysis of
    mycotoxins: a lot is rejected beyond reasonable doubt.
    """
    if line.rule == "two risks":
        return _by_chance(line, chance, producer=line.producer_risk)
    if line.rule == "guarded acceptance":
        by_chance = _by_chance(line, chance, producer=_NEVER)
        beyond = _by_place(line, mean, coverage=0.0) == "not conforming"
        return "not conforming" if by_chance == "undecided" and beyond else by_chance
    coverage = COVERAGE if line.rule == "guarded rejection" else 0.0
    return _by_place(line, mean, coverage=coverage)


def in_words(line: Line) -> str:
    """The rule of a line as a sentence.

    Parameters
    ----------
    line
        With rule and risks.

    Returns
    -------
    str
        A sentence that says from where on a lot conforms, and from where on it does not.
    """
    sure, doubtful = _share(1.0 - line.consumer_risk), _share(line.producer_risk)
    return {
        "two risks": f"Rule of two risks: conforming from a chance of {sure},"
        f" not conforming at {doubtful} or less.",
        "simple acceptance": "Simple acceptance: a mean inside the limits conforms, one outside"
        " does not.",
        "guarded acceptance": f"Guarded acceptance: conforming only from a chance of {sure},"
        " not conforming when the mean lies outside the limits.",
        "guarded rejection": "Guarded rejection: not conforming only when the mean lies outside"
        " by more than its expanded uncertainty (k = 2), conforming otherwise.",
    }[line.rule]


def settling_risks(line: Line) -> Risks | None:
    """The risks at which more samples can settle a line; None where the rule knows none.

    Parameters
    ----------
    line
        With rule and risks.

    Returns
    -------
    Risks or None
        Simple acceptance and guarded rejection leave only open readings undecided.
    """
    if line.rule == "two risks":
        return Risks(consumer=line.consumer_risk, producer=line.producer_risk)
    if line.rule == "guarded acceptance":
        return Risks(consumer=line.consumer_risk, producer=_NEVER)
    return None


def _by_chance(line: Line, chance: tuple[float, float], *, producer: float) -> Outcome:
    low, high = chance
    if low >= 1.0 - line.consumer_risk:
        return "conforming"
    return "not conforming" if high <= producer else "undecided"


def _by_place(line: Line, mean: LotMean, *, coverage: float) -> Outcome:
    margin = coverage * mean.uncertainty if coverage else 0.0
    if inside(line, mean.low, mean.high, margin=margin):
        return "conforming"
    return "not conforming" if outside(line, mean.low, mean.high, margin=margin) else "undecided"


def _share(chance: float) -> str:
    return f"{100.0 * chance:.3g} %"
