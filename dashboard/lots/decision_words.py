"""What is said where a lot is decided on."""

from collections.abc import Hashable, Mapping, Sequence
from types import MappingProxyType
from typing import Any, Final

from dashboard.frame.words import day, joined
from spc.acceptance import LotVerdict
from spc.acceptance.verdict import Recommendation
from spc.store.blends.drawn import Drawn
from spc.store.people import Actor, Request

BUTTONS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "accepted": "Accept…",
        "rejected": "Reject…",
        "on hold": "Hold…",
        "sent to rework": "Send to rework…",
        "restricted to blend": "Restrict to blends…",
        "accepted under concession": "Accept under concession…",
    }
)
_SUGGESTED: Final[Mapping[Recommendation, str]] = MappingProxyType(
    {"accept": "accepted", "hold": "on hold", "reject": "rejected"}
)
CONFORMS: Final = "conforms"
WRONG: Final = "This decision was wrong…"
CORRECT: Final = "Correct it…"
INSTEAD: Final = "What it should have been"
CORRECTED: Final = (
    "Both decisions stay in the record; the new one counts. Two persons must sign it, one of them a"
    " QA lead."
)


def suggested(judged: LotVerdict) -> str:
    """The decision that the evidence speaks for."""
    return _SUGGESTED[judged.recommendation]


def reason(judged: LotVerdict, decision: str) -> str:
    """The reason that the evidence gives for a decision; empty where a person must find one."""
    if decision == "accepted" and judged.recommendation == "accept":
        return CONFORMS
    if decision == "rejected":
        return _first(judged, "not conforming")
    if decision == "on hold":
        return _first(judged, "undecided") or _first(judged, "no result")
    return ""


def signing(actor: Actor, *, two: bool) -> str:
    """Who signs, and whether that is enough."""
    roles = f" ({joined(actor.roles)})" if actor.roles and actor.way != "system user" else ""
    second = (
        " A second person must sign beside you; until then the lot stays as it is." if two else ""
    )
    return f"You sign as {actor.name}{roles}.{second}"


def over_hold(held: Mapping[Hashable, Any]) -> str:
    """Who held a lot and why, for who is about to release it."""
    return (
        f"Held by {held['decided_by']} on {day(held['decided_at'])}: {held['reason']}. To release"
        " it needs two persons, and whoever held it is told."
    )


def _first(judged: LotVerdict, outcome: str) -> str:
    line = next((one for one in judged.lines if one.outcome == outcome), None)
    return "" if line is None else f"{line.line.characteristic}: {line.reason}"


def beside(row: Mapping[Hashable, Any]) -> str:
    """The second person of a decision."""
    return f", with {row['second_person']}" if row["second_person"] else ""


def limited(row: Mapping[Hashable, Any]) -> str:
    """What a decision holds for, and until when."""
    told = [
        *([f"For {row['scope']}"] if row["scope"] else []),
        *([f"until {row['expires_on']}"] if row["expires_on"] else []),
    ]
    return f"{' '.join(told)}." if told else ""


def how(row: Mapping[Hashable, Any]) -> str:
    """How a decision came into the record, where it was not signed by somebody who signed in."""
    return "" if row["how"] == "signed" else f"{row['how'].capitalize()}."


def correction(row: Mapping[Hashable, Any]) -> str:
    """That a decision was found wrong, or that it stands in the place of one that was."""
    if row["superseded_by"]:
        return "This decision was found wrong and counts no longer."
    return "It stands in the place of a decision that was found wrong." if row["corrects"] else ""


def waits(one: Request) -> str:
    """A decision that waits for a second person."""
    return f"{one.meaning}: waits for a second person; until then the lot stays as it was."


def drawn(parts: Sequence[Drawn]) -> str:
    """What of a lot went into blends already."""
    told = [f"{one.kg:g} kg in {one.made or one.name} ({one.status})" for one in parts]
    return f"Of this lot were drawn already: {'; '.join(told)}."
