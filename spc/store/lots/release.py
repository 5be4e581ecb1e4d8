"""The rules of release: what may be decided of a lot, on what, and which deed that is."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Final

from spc.acceptance import LotVerdict
from spc.errors import DispositionRefused
from spc.intake.decisions import DECISIONS

# Which decision may follow which; the empty one is a lot nobody has decided on yet.  What has gone
# into production is not decided on again, only corrected, with a second person.
MOVES: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "": DECISIONS,
        "on hold": DECISIONS,
        "sent to rework": DECISIONS,
        "restricted to blend": ("rejected",),
        "accepted": (),
        "accepted under concession": (),
        "rejected": (),
    }
)

# Decisions that let a lot into production, and those of them that hold for a use and a time only.
RELEASING: Final = ("accepted", "accepted under concession", "restricted to blend")
LIMITED: Final = ("accepted under concession", "restricted to blend")

_DEEDS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "accepted": "accept a lot",
        "rejected": "reject a lot",
        "on hold": "hold a lot",
        "sent to rework": "send a lot to rework",
        "restricted to blend": "restrict a lot to blends",
        "accepted under concession": "concede a lot",
    }
)
AGAINST: Final = "accept a lot against the evidence"
OVER_HOLD: Final = "release a lot over a hold"
CORRECTING: Final = "correct a decision"
DEEDS: Final = (*_DEEDS.values(), AGAINST, OVER_HOLD, CORRECTING)


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What is decided of a lot, and why.

    Attributes
    ----------
    scope, expires_on
        What a concession or a restriction allows, and the ISO date until which.
    corrects
        The name of the decision that it supersedes; empty if it corrects none.
    """

    decision: str
    reason: str
    scope: str = ""
    expires_on: str = ""
    corrects: str = ""


def deed(decided: Decision, judged: LotVerdict, *, before: str) -> str:
    """The deed that a decision is, in the circumstances: who may do it depends on them.

    Parameters
    ----------
    before
        The latest decision on the lot; empty if there is none.

    Raises
    ------
    DispositionRefused
        If there is no such decision.
    """
    if decided.decision not in _DEEDS:
        raise DispositionRefused(
            f"{decided.decision!r} is no decision.",
            where="decision",
            remedy=f"Choose one of: {', '.join(DECISIONS)}.",
            reason_typed=decided.reason,
        )
    if decided.corrects:
        return CORRECTING
    if before == "on hold" and decided.decision in RELEASING:
        return OVER_HOLD
    if decided.decision == "accepted" and judged.recommendation != "accept":
        return AGAINST
    return _DEEDS[decided.decision]


def check(lot: str, decided: Decision, judged: LotVerdict, *, before: str, today: date) -> None:
    """Refuse a decision that the rules of release do not allow.

    Raises
    ------
    DispositionRefused
        With the rule that stands against it and what to do instead.
    """
    for broken in (
        _broken_move(decided, before),
        _broken_basis(decided, judged),
        _broken_safety(decided, judged),
        _broken_terms(decided, today),
        _broken_evidence(decided, judged),
    ):
        if broken is not None:
            what, remedy = broken
            raise DispositionRefused(
                what, where=f"lot {lot}", remedy=remedy, reason_typed=decided.reason
            )


def open_safety(judged: LotVerdict) -> str:
    """What is wrong with the first safety line that is not shown to conform; empty if none is."""
    for one in judged.lines:
        if one.line.safety and one.outcome != "conforming":
            return f"the safety line {one.line.characteristic} is {one.outcome}."
    return ""


def _broken_move(decided: Decision, before: str) -> tuple[str, str] | None:
    if decided.corrects or decided.decision in MOVES[before]:
        return None
    return (
        f"the lot is {before} already.",
        "That decision stands; if it was wrong, correct it with a second person.",
    )


def _broken_basis(decided: Decision, judged: LotVerdict) -> tuple[str, str] | None:
    """Nothing is let in on a specification that nobody has approved."""
    if decided.decision not in RELEASING or judged.specification.version:
        return None
    return (
        f"no specification of {judged.specification.material} is approved.",
        "Have one approved under Specifications, and decide on the lot then.",
    )


def _broken_safety(decided: Decision, judged: LotVerdict) -> tuple[str, str] | None:
    told = open_safety(judged)
    if decided.decision not in RELEASING or not told:
        return None
    return (
        told,
        "A safety line is never conceded. Hold or reject the lot; local food law and a qualified"
        " person decide what becomes of it.",
    )


def _broken_terms(decided: Decision, today: date) -> tuple[str, str] | None:
    """A use and a day until which, where the decision holds for those only."""
    if decided.decision not in LIMITED:
        return None
    if not any(map(str.isalnum, decided.scope)):
        return (
            f"{decided.decision!r} has no scope.",
            "Say for which use, product or quantity it holds.",
        )
    try:
        until = date.fromisoformat(decided.expires_on.strip())
    except ValueError:
        return (
            f"{decided.decision!r} has no date until which it holds.",
            "Give a date such as 2027-01-31.",
        )
    if until < today:
        return (
            f"{decided.decision!r} would have ended on {until.isoformat()}, before today.",
            "Give a date that is still to come.",
        )
    return None


def _broken_evidence(decided: Decision, judged: LotVerdict) -> tuple[str, str] | None:
    if decided.decision != "accepted" or judged.recommendation != "reject":
        return None
    return (
        "a line of the specification does not conform.",
        "Reject it, hold it, or accept it under concession with a second person.",
    )
