"""What is said where a lot is decided on."""

from collections.abc import Hashable, Mapping
from types import MappingProxyType
from typing import Any, Final

from dashboard.frame.words import day, joined
from spc.acceptance import LotVerdict
from spc.acceptance.verdict import Recommendation
from spc.store.people import Actor

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
