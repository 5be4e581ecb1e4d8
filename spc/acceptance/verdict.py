"""A lot against its specification: every line, what stands beside them, and what to do."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from spc.acceptance.evidence.evidence import Readings
from spc.acceptance.evidence.flags import AGAINST_SAFETY, Flag, History, with_policy
from spc.acceptance.evidence.flags_of_lot import flags_beside
from spc.acceptance.evidence.lines import LineVerdict, odds
from spc.acceptance.evidence.lot_evidence import LotEvidence
from spc.acceptance.judging import judge
from spc.acceptance.specification import Specification

Recommendation = Literal["accept", "hold", "reject"]


@dataclass(frozen=True, slots=True, kw_only=True)
class LotVerdict:
    """What the evidence says of a lot; a named person decides.

    Attributes
    ----------
    lines
        One verdict a line, in the order of the specification.
    flags
        What stands beside them.
    recommendation
        The worst line's: reject, hold, or accept.
    sentence
        Why, in one plain sentence.
    """

    specification: Specification
    lines: tuple[LineVerdict, ...]
    flags: tuple[Flag, ...]
    recommendation: Recommendation
    sentence: str


def verdict(  # noqa: PLR0913 - each is one thing that is known of a lot
    results: Sequence[Readings],
    specification: Specification,
    *,
    history: Mapping[tuple[str, str], History] | None = None,
    planning_cv: float | None = None,
    untaken: Sequence[str] = (),
    noted: Sequence[Flag] = (),
    alarms: Sequence[str] = (),
    waiting_days: int | None = None,
    retests: Mapping[tuple[str, str], int] | None = None,
) -> LotVerdict:
    """Judge a lot by every line of its specification.

    Parameters
    ----------
    results
        The lot's current readings, one entry a characteristic and method.
    specification
        The version in force when the lot was received.
    history
        By characteristic and method: what the supplier's other lots tell.
    planning_cv
        Relative spread between samples of one lot to plan with while history is short.
    untaken
        Sentences about rows that name this lot and could not be taken in.
    noted
        Flags about what the lot was measured with: control samples, corrections.
    alarms
        Sentences about what stands against the lot's safety and is no result of it.
    waiting_days
        Days since the lot was received; None where it does not wait for a decision.
    retests
        By characteristic and method: on how many days beyond the first it was measured.

    Returns
    -------
    LotVerdict
        A verdict a line, flags, and a recommendation with its sentence.

    Raises
    ------
    InvalidInput
        If a line has no limit or an incomplete plan, or readings have a missing end.

    Notes
    -----
    Certificates never decide; screening methods decide no line marked safety or
    reference-method-only.  Of several methods that may decide, the one whose lot mean is least
    uncertain decides an average, the one with most samples a plan.

    References
    ----------
    JCGM 106:2012, 7 and 8, for lines that limit the lot mean; MIL-STD-414 and MIL-STD-105E for
    lines that a plan decides.
    """
    evidence = LotEvidence(
        results=results,
        history=history or {},
        planning_cv=planning_cv,
        waiting_days=waiting_days,
        retests=retests or {},
    )
    lines = tuple(judge(line, evidence) for line in specification.lines)
    held = [Flag(name="rows held at intake", sentence=told) for told in untaken]
    raised = [*flags_beside(lines, evidence, specification), *noted, *held]
    # No policy of a material lets these pass.
    against = (Flag(name=AGAINST_SAFETY, sentence=told, holds=True) for told in alarms)
    flags = (*against, *with_policy(raised, specification.hold_on))
    recommendation = _recommendation(lines, flags)
    return LotVerdict(
        specification=specification,
        lines=lines,
        flags=flags,
        recommendation=recommendation,
        sentence=_sentence(recommendation, lines, flags),
    )


def _recommendation(lines: Sequence[LineVerdict], flags: Sequence[Flag]) -> Recommendation:
    outcomes = {judged.outcome for judged in lines}
    if "not conforming" in outcomes:
        return "reject"
    if outcomes & {"undecided", "no result"} or not lines or any(one.holds for one in flags):
        return "hold"
    return "accept"


def _sentence(
    recommendation: Recommendation, lines: Sequence[LineVerdict], flags: Sequence[Flag]
) -> str:
    failing = [judged.reason for judged in lines if judged.outcome == "not conforming"]
    against = [one.sentence for one in flags if one.name == AGAINST_SAFETY]
    if failing:
        return f"Reject: {' '.join([*failing, *against])}"
    if against:
        return f"Hold: {' '.join(against)} Have it settled before anything else."
    if recommendation == "accept":
        return _accepting(lines, flags)
    return _holding(lines, flags)


def _holding(lines: Sequence[LineVerdict], flags: Sequence[Flag]) -> str:
    if not lines:
        return "Hold: the specification has no lines, so there is nothing to judge the lot by."
    open_lines = [
        f"{judged.reason} {judged.remedy}" for judged in lines if judged.outcome == "undecided"
    ]
    missing = [j.line.characteristic for j in lines if j.outcome == "no result"]
    if missing:
        open_lines.append(f"No result that may decide yet for {_listed(missing)}.")
        open_lines += [one.sentence for one in flags if one.name == "rows held at intake"]
    if not open_lines:
        open_lines = [one.sentence for one in flags if one.holds]
    return f"Hold: {' '.join(open_lines)}"


def _accepting(lines: Sequence[LineVerdict], flags: Sequence[Flag]) -> str:
    count = f"all {len(lines)} lines conform" if len(lines) > 1 else "its one line conforms"
    noted = f" To note: {_listed([one.name for one in flags])}." if flags else ""
    return f"Accept: {count}{_tightest(lines)}.{noted}"


def _tightest(lines: Sequence[LineVerdict]) -> str:
    """The average that conforms with least to spare; absence and plans have no chance to tell."""
    measured = [(one.probability[0], one.line, one.mean) for one in lines if one.mean is not None]
    if not measured:
        return ""
    chance, line, mean = min(measured, key=lambda one: one[0])
    return f"; the tightest is {line.characteristic} (chance of conforming {odds(mean, chance)})"


def _listed(names: Sequence[str]) -> str:
    unique = list(dict.fromkeys(names))
    return unique[0] if len(unique) == 1 else f"{', '.join(unique[:-1])} and {unique[-1]}"
