"""How closely to inspect a supplier's next lots, from how the last ones went."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from spc.acceptance.specification import Line
from spc.errors import InvalidInput

Level = Literal["normal", "tightened", "reduced", "stopped"]
Inspected = Literal["accepted", "marginal", "rejected"]

# MIL-STD-105E, section 4, as we remember it (not re-read).
LOTS_LOOKED_BACK: Final = 5
REJECTED_TO_TIGHTEN: Final = 2
ACCEPTED_TO_RELAX: Final = 5
REJECTED_TO_STOP: Final = 5
ACCEPTED_TO_REDUCE: Final = 10
# Classic frequencies of skip-lot sampling: one lot in two to one in five (practice, not re-read).
ONE_IN: Final = (2, 3, 4, 5)


@dataclass(frozen=True, slots=True, kw_only=True)
class InspectionLevel:
    """How the next lot is inspected, and why.

    Attributes
    ----------
    level
        ``"normal"``, ``"tightened"``, ``"reduced"``, or ``"stopped"``: take no more lots until
        the supplier has shown what was put right.
    since
        Number of lots inspected before the level began; 0 if it never changed.
    lots
        Number of lots it rests on.
    reason
        One sentence.
    """

    level: Level
    since: int
    lots: int
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SkipAdvice:
    """Whether lots may go uninspected.

    Attributes
    ----------
    allowed
        Whether some may.
    one_in
        Inspect one lot in so many, chosen at random; 1 where every lot is inspected.
    reason
        One sentence.
    """

    allowed: bool
    one_in: int
    reason: str


def inspection_level(
    history: Sequence[Inspected], *, reduced_allowed: bool = False
) -> InspectionLevel:
    """Normal, tightened or reduced inspection by published switching rules.

    Parameters
    ----------
    history
        How the lots of one supplier and material went at first submission, in order of receipt:
        ``"accepted"``, ``"rejected"``, or ``"marginal"``, which is accepted under reduced
        inspection with a count between acceptance and rejection number.
    reduced_allowed
        Whether someone entitled to it has agreed to reduced inspection, production is steady, and
        the nonconforming units of the last ten lots are within the standard's limit number.

    Returns
    -------
    InspectionLevel
        For the next lot.

    Raises
    ------
    InvalidInput
        If an entry is none of the three.

    Notes
    -----
    From normal to tightened after two rejected of at most five consecutive lots; back after five
    accepted in a row; stopped when five have been rejected while tightened.  From normal to
    reduced after ten accepted in a row, if allowed; back at the first rejected or marginal one.
    Only lots inspected at the present level count.  For continuing series of one supplier.

    References
    ----------
    MIL-STD-105E (1989), section 4, from memory; ISO 2859-1 has the same shape.
    """
    state = InspectionLevel(level="normal", since=0, lots=0, reason="Inspection starts normal.")
    for position, each in enumerate(history):
        if each not in ("accepted", "marginal", "rejected"):
            raise InvalidInput(
                f"lot {position} went {each!r}.",
                where="inspection level",
                remedy="Give accepted, marginal or rejected.",
            )
        here = history[state.since : position + 1]
        level, reason = _next(state, here, reduced_allowed=reduced_allowed)
        since = state.since if level == state.level else position + 1
        state = InspectionLevel(level=level, since=since, lots=position + 1, reason=reason)
    return state


def may_skip(lines: Sequence[Line], history: Sequence[Inspected], *, one_in: int = 2) -> SkipAdvice:
    """Whether some lots may be taken without inspection.

    Parameters
    ----------
    lines
        Of the specification that lots are inspected against.
    history
        As of `inspection_level`.
    one_in
        Inspect one lot in so many: 2 to 5.

    Returns
    -------
    SkipAdvice
        Never allowed where a line is marked safety.

    Raises
    ------
    InvalidInput
        If `one_in` is not 2 to 5, or the history is not readable.

    Notes
    -----
    After ten accepted lots in a row at normal inspection, until the first one that is not.
    Lots to inspect are chosen at random, so that no supplier can tell which.  Skipped lots leave
    gaps in the charts too, whose limits grow wider for it.

    References
    ----------
    ISO 2859-3, skip-lot sampling: the idea, with the qualifying run from memory.
    """
    if one_in not in ONE_IN:
        raise InvalidInput(
            f"one lot in {one_in} is no frequency of skip-lot sampling.",
            where="skip-lot",
            remedy=f"Use one of: {', '.join(map(str, ONE_IN))}.",
        )
    marked = [line.characteristic for line in lines if line.safety]
    if marked:
        verb = "is" if len(marked) == 1 else "are"
        reason = f"{', '.join(marked)} {verb} marked safety: every lot is inspected."
        return SkipAdvice(allowed=False, one_in=1, reason=reason)
    state = inspection_level(history)
    run = _accepted_in_a_row(history)
    if state.level != "normal" or run < ACCEPTED_TO_REDUCE:
        reason = (
            f"Inspection is {state.level}, and the last {run} lots were accepted; skipping begins"
            f" after {ACCEPTED_TO_REDUCE} at normal inspection."
        )
        return SkipAdvice(allowed=False, one_in=1, reason=reason)
    reason = f"The last {run} lots were accepted; inspect one in {one_in}, chosen at random."
    return SkipAdvice(allowed=True, one_in=one_in, reason=reason)


def _next(
    state: InspectionLevel, here: Sequence[Inspected], *, reduced_allowed: bool
) -> tuple[Level, str]:
    """The level after the last of the lots seen at the present one."""
    if state.level == "normal":
        return _from_normal(state, here, reduced_allowed=reduced_allowed)
    if state.level == "tightened":
        return _from_tightened(state, here)
    if state.level == "reduced" and here[-1] != "accepted":
        return "normal", f"A lot was {here[-1]} under reduced inspection."
    return state.level, state.reason


def _from_normal(
    state: InspectionLevel, here: Sequence[Inspected], *, reduced_allowed: bool
) -> tuple[Level, str]:
    recent = here[-LOTS_LOOKED_BACK:]
    if recent.count("rejected") >= REJECTED_TO_TIGHTEN:
        return "tightened", f"{REJECTED_TO_TIGHTEN} of the last {len(recent)} lots were rejected."
    if reduced_allowed and _accepted_in_a_row(here) >= ACCEPTED_TO_REDUCE:
        return "reduced", f"The last {ACCEPTED_TO_REDUCE} lots were accepted, and it was agreed."
    return "normal", state.reason


def _from_tightened(state: InspectionLevel, here: Sequence[Inspected]) -> tuple[Level, str]:
    if here.count("rejected") >= REJECTED_TO_STOP:
        return "stopped", f"{REJECTED_TO_STOP} lots were rejected under tightened inspection."
    if _accepted_in_a_row(here) >= ACCEPTED_TO_RELAX:
        return "normal", f"The last {ACCEPTED_TO_RELAX} lots were accepted."
    return "tightened", state.reason


def _accepted_in_a_row(history: Sequence[Inspected]) -> int:
    run = 0
    for each in reversed(history):
        if each == "rejected":
            break
        run += 1
    return run
