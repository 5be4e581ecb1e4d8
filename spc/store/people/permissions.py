"""What a role may do: one table, asked at every door.

Which role may do what in a house is common practice, no source; it is strict where a lot leaves for
production: purchasing neither decides on lots nor concedes.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from spc.errors import NotAllowed, UnknownName
from spc.store.people.proofs import Actor

VIEWER: Final = "viewer"
PURCHASING: Final = "purchasing"
DEVELOPER: Final = "product developer"
OFFICER: Final = "QA officer"
LEAD: Final = "QA lead"
ADMINISTRATOR: Final = "administrator"

ROLES: Final = (VIEWER, PURCHASING, DEVELOPER, OFFICER, LEAD, ADMINISTRATOR)

_QUALITY: Final = (OFFICER, LEAD)
_BLENDING: Final = (DEVELOPER, OFFICER, LEAD)
_WORKING: Final = (PURCHASING, *_BLENDING)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Who may do a deed.

    Attributes
    ----------
    roles
        Who may do it, or sign first; a person acts in one of `among` if that is theirs, else in
        the first that is.
    beside
        Who may sign beside the first person.
    among
        Of two who sign, at least one must act in one of these; empty for no such wish.
    """

    roles: tuple[str, ...]
    beside: tuple[str, ...] = _QUALITY
    among: tuple[str, ...] = ()


DEEDS: Final[Mapping[str, Rule]] = MappingProxyType(
    {
        "look": Rule(roles=ROLES),
        "receive files": Rule(roles=(PURCHASING, DEVELOPER, OFFICER, LEAD, ADMINISTRATOR)),
        "type in results": Rule(roles=_QUALITY),
        "mend held rows": Rule(roles=_QUALITY),
        "attach files": Rule(roles=_WORKING),
        "draw packages": Rule(roles=_WORKING),
        "investigate a signal": Rule(roles=_QUALITY),
        "freeze a baseline": Rule(roles=_QUALITY),
        "void results": Rule(roles=_QUALITY),
        "withdraw results": Rule(roles=_QUALITY),
        "correct results": Rule(roles=_QUALITY),
        "correct results of a decided lot": Rule(roles=_QUALITY),
        "accept a lot": Rule(roles=_QUALITY),
        "accept a lot against the evidence": Rule(roles=_QUALITY, among=(LEAD,)),
        "reject a lot": Rule(roles=_QUALITY),
        "hold a lot": Rule(roles=_QUALITY),
        "send a lot to rework": Rule(roles=_QUALITY),
        "restrict a lot to blends": Rule(roles=_QUALITY, beside=_BLENDING, among=(LEAD,)),
        "concede a lot": Rule(roles=_QUALITY, beside=_BLENDING, among=(LEAD,)),
        "release a lot over a hold": Rule(roles=_QUALITY, among=(LEAD,)),
        "correct a decision": Rule(roles=_QUALITY, among=(LEAD,)),
        "approve a specification": Rule(roles=(DEVELOPER, LEAD), beside=_BLENDING),
        "approve one's own specification": Rule(roles=(DEVELOPER, LEAD), beside=_BLENDING),
        "back-date a specification": Rule(roles=(DEVELOPER, LEAD), among=(LEAD,)),
        "adopt a correction of a method": Rule(roles=_QUALITY),
        "back-date a correction of a method": Rule(roles=_QUALITY, among=(LEAD,)),
        "turn down a specification": Rule(roles=(DEVELOPER, LEAD), beside=_BLENDING),
        "turn down a correction of a method": Rule(roles=_QUALITY),
        "adopt figures of a method": Rule(roles=_QUALITY),
        "turn down figures of a method": Rule(roles=_QUALITY),
        "draft a blend": Rule(roles=_WORKING),
        "approve a blend": Rule(roles=_BLENDING, beside=_BLENDING),
        "approve a blend of limited lots": Rule(roles=_BLENDING, among=_QUALITY),
        "issue a blend": Rule(roles=_BLENDING, beside=_BLENDING),
        "issue one's own blend": Rule(roles=_BLENDING, beside=_BLENDING),
        "make a blend": Rule(roles=_BLENDING),
        "cancel a blend": Rule(roles=_BLENDING),
        "move stock": Rule(roles=_WORKING),
        "register people": Rule(roles=(ADMINISTRATOR,), beside=(ADMINISTRATOR, LEAD)),
        "issue tokens": Rule(roles=(ADMINISTRATOR,)),
        "set house rules": Rule(roles=(ADMINISTRATOR,), beside=(ADMINISTRATOR, LEAD)),
        "set the cut-over date": Rule(roles=(ADMINISTRATOR,), beside=(ADMINISTRATOR, LEAD)),
        "back up": Rule(roles=(LEAD, ADMINISTRATOR)),
        "verify the record": Rule(roles=ROLES),
    }
)

# What a sender's token may be for; a sender signs nothing.
SENDER_DEEDS: Final = (
    "look",
    "receive files",
    "attach files",
    "move stock",
    "back up",
    "verify the record",
)

# Whatever the house sets, these are never one person's.
ALWAYS_TWO: Final = frozenset(
    {
        "concede a lot",
        "release a lot over a hold",
        "correct a decision",
        "back-date a specification",
        "back-date a correction of a method",
    }
)

TWO_BY_DEFAULT: Final = ALWAYS_TWO | {
    "accept a lot against the evidence",
    "restrict a lot to blends",
    "void results",
    "withdraw results",
    "correct results of a decided lot",
    "approve one's own specification",
    "approve a blend of limited lots",
    "issue one's own blend",
}

# Where only one person is registered these are done alone, marked, and countersigned later.
ALONE: Final = frozenset(
    {
        "approve a specification",
        "approve one's own specification",
        "adopt a correction of a method",
        "turn down a specification",
        "turn down a correction of a method",
        "adopt figures of a method",
        "turn down figures of a method",
        "void results",
        "withdraw results",
        "correct results",
        "correct results of a decided lot",
        "approve a blend",
        "approve a blend of limited lots",
        "issue a blend",
        "issue one's own blend",
    }
)


def permit(actor: Actor, deed: str) -> str:
    """The role in which somebody does a deed.

    Raises
    ------
    NotAllowed
        If none of their roles may; it names those that may.
    UnknownName
        If there is no such deed.
    """
    rule = _rule(deed)
    if actor.way == "token":
        if deed not in actor.scope:
            raise NotAllowed(deed, who=f"the token of {actor.name}", roles=rule.roles)
        return "sender"
    return _acting(actor, deed, _weighty_first(rule, rule.roles))


def permit_beside(actor: Actor, deed: str, *, first: str) -> str:
    """The role in which somebody signs beside a first person, who acted in the role `first`.

    Raises
    ------
    NotAllowed
        If none of their roles may, or one of the two should have had a role that neither has.
    """
    rule = _rule(deed)
    wanted = _weighty_first(rule, rule.beside)
    if rule.among and first not in rule.among:
        wanted = tuple(role for role in wanted if role in rule.among)
    return _acting(actor, deed, wanted, beside=" beside the first person")


def _rule(deed: str) -> Rule:
    if deed not in DEEDS:
        raise UnknownName("deed", deed, known=list(DEEDS))
    return DEEDS[deed]


def _weighty_first(rule: Rule, roles: tuple[str, ...]) -> tuple[str, ...]:
    return tuple(sorted(roles, key=lambda role: role not in rule.among))


def _acting(actor: Actor, deed: str, roles: tuple[str, ...], beside: str = "") -> str:
    mine = [role for role in roles if role in actor.roles]
    if not mine:
        who = f"{actor.name} ({', '.join(actor.roles) or 'without a role'})"
        raise NotAllowed(deed, who=who, roles=roles, beside=beside)
    return mine[0]
