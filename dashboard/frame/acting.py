"""Who acts on a screen, and the proof of it that a door of the store takes as `by=`."""

from collections.abc import Callable

import streamlit as st

from dashboard.frame.session import store
from spc.errors import NotAllowed
from spc.store.people import Actor, Proof, permit

_KEY: list[Callable[[], str]] = []


def hold(key: Callable[[], str]) -> None:
    """Have every page of this process ask here for the key of the session that looks at it."""
    _KEY[:] = [key]


def cookie(name: str) -> Callable[[], str]:
    """Reads the key from the browser's cookie of that name."""
    return lambda: st.context.cookies.get(name, "")


def key() -> str:
    """The key of the session that looks at this run; empty where nobody can have come in."""
    return _KEY[0]() if _KEY else ""


def proof() -> Proof:
    """Who acts: the session's person, or the computer's user where nobody has an account.

    No secret was given for it, so it opens the doors that need none.
    """
    people = store().people
    return people.system_user() if people.alone else people.session(key())


def actor() -> Actor:
    """Who acts, as the register knows them.

    Raises
    ------
    NotKnown
        If the session has ended.
    """
    return store().people.who(proof())


def may(deed: str) -> str:
    """Empty if who looks at this run may do a deed; else which role may."""
    try:
        permit(actor(), deed)
    except NotAllowed as problem:
        return f"{problem.what} {problem.remedy}"
    return ""
