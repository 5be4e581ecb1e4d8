"""Which deeds stand behind each door of the store that takes `by=`.

A door with several deeds chooses by the circumstances: accepting a lot that is on hold is a release
over a hold.
"""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

_APPROVALS: Final = (
    "approve a specification",
    "approve one's own specification",
    "back-date a specification",
    "adopt a correction of a method",
    "back-date a correction of a method",
    "adopt figures of a method",
)

_TURNING_DOWN: Final = (
    "turn down a specification",
    "turn down a correction of a method",
    "turn down figures of a method",
)

_DECIDING: Final = (
    "accept a lot",
    "accept a lot against the evidence",
    "reject a lot",
    "hold a lot",
    "send a lot to rework",
    "restrict a lot to blends",
    "concede a lot",
    "release a lot over a hold",
)

DOORS: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {
        "Store.receive": ("receive files",),
        "Store.receive_bytes": ("receive files",),
        "Store.preview": ("receive files",),
        "Store.freeze_baseline": ("freeze a baseline",),
        "Store.investigate": ("investigate a signal",),
        "Store.close_investigation": ("investigate a signal",),
        "Store.dispose": _DECIDING,
        "Store.ask_decision": _DECIDING,
        "Store.correct_decision": ("correct a decision",),
        "Store.ask_correction": ("correct a decision",),
        "Store.ask_invalidation": ("void results",),
        "Store.invalidate": ("void results",),
        "Store.attach": ("attach files",),
        "Store.draw": ("draw packages",),
        "IntakeDesk.mend": ("mend held rows",),
        "IntakeDesk.confirm": ("mend held rows",),
        "IntakeDesk.check_again": ("mend held rows",),
        "IntakeDesk.check_all_again": ("mend held rows",),
        "IntakeDesk.dismiss": ("mend held rows",),
        "IntakeDesk.type_in": ("type in results",),
        "IntakeDesk.ask_withdrawal": ("withdraw results",),
        "IntakeDesk.withdraw": ("withdraw results",),
        "IntakeDesk.ask_correction": ("correct results", "correct results of a decided lot"),
        "IntakeDesk.correct": ("correct results", "correct results of a decided lot"),
        "BlendDesk.count": ("move stock",),
        "BlendDesk.take_stock": ("move stock",),
        "BlendDesk.consume": ("move stock",),
        "BlendDesk.introduce": ("receive files",),
        "BlendDesk.save": ("draft a blend",),
        "BlendDesk.ask_approval": ("approve a blend", "approve a blend of limited lots"),
        "BlendDesk.ask_issue": ("issue a blend", "issue one's own blend"),
        "BlendDesk.approve": ("approve a blend", "approve a blend of limited lots"),
        "BlendDesk.issue": ("issue a blend", "issue one's own blend"),
        "BlendDesk.make": ("make a blend",),
        "BlendDesk.cancel": ("cancel a blend",),
        "ApprovalDesk.ask": _APPROVALS,
        "ApprovalDesk.approve": _APPROVALS,
        "ApprovalDesk.ask_turning_down": _TURNING_DOWN,
        "ApprovalDesk.turn_down": _TURNING_DOWN,
        "PeopleDesk.invite": ("register people",),
        "PeopleDesk.invite_again": ("register people",),
        "PeopleDesk.change": ("register people",),
        "PeopleDesk.end": ("register people",),
        "PeopleDesk.end_sessions": ("register people",),
        "PeopleDesk.issue_token": ("issue tokens",),
        "PeopleDesk.end_token": ("issue tokens",),
        "PeopleDesk.set_rule": ("set house rules", "set the cut-over date"),
    }
)

# Doors that ask for the deed that they are given.
ANY_DEED: Final = frozenset(
    {
        "PeopleDesk.may",
        "SigningDesk.ask",
        "Store.ask_decision",
        "SigningDesk.sign",
        "SigningDesk.decline",
        "SigningDesk.pending",
        "SigningDesk.to_countersign",
        "SigningDesk.released",
    }
)

# Deeds without a door of their own yet: rules for files, copies and corrections ask for them.
BEHIND_FILES: Final = frozenset(
    {
        "look",
        "back up",
        "verify the record",
    }
)
