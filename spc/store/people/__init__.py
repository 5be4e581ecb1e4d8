"""People: who they are, how that is known, what they may do, and what they signed."""

from spc.store.people.asking import Ask, void_about
from spc.store.people.doors import ANY_DEED, BEHIND_FILES, DOORS
from spc.store.people.entries import Entry
from spc.store.people.faults import faults
from spc.store.people.house_rules import (
    CUT_OVER,
    GROUPS,
    NEEDS_TWO,
    STANDS_STILL,
    cut_over,
    stands_still,
    two_persons,
)
from spc.store.people.identity import identify
from spc.store.people.permissions import (
    ALONE,
    ALWAYS_TWO,
    DEEDS,
    ROLES,
    SENDER_DEEDS,
    TWO_BY_DEFAULT,
    permit,
)
from spc.store.people.proofs import Actor, Proof
from spc.store.people.provider import Answer, Claims
from spc.store.people.register import Person
from spc.store.people.requests import Request, Signature
from spc.store.people.secret import STANDARD, Cost
from spc.store.people.signatures import begin, bundle
from spc.store.people.signed import refuse_unsigned
from spc.store.people.together import together, whole
from spc.store.people.tokens import Grant, Token

__all__ = [
    "ALONE",
    "ALWAYS_TWO",
    "ANY_DEED",
    "BEHIND_FILES",
    "CUT_OVER",
    "DEEDS",
    "DOORS",
    "GROUPS",
    "NEEDS_TWO",
    "ROLES",
    "SENDER_DEEDS",
    "STANDARD",
    "STANDS_STILL",
    "TWO_BY_DEFAULT",
    "Actor",
    "Answer",
    "Ask",
    "Claims",
    "Cost",
    "Entry",
    "Grant",
    "Person",
    "Proof",
    "Request",
    "Signature",
    "Token",
    "begin",
    "bundle",
    "cut_over",
    "faults",
    "identify",
    "permit",
    "refuse_unsigned",
    "stands_still",
    "together",
    "two_persons",
    "void_about",
    "whole",
]
