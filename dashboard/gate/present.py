"""Who looks at a run of a page; asked at every run, because a session can end between two."""

import streamlit as st

from dashboard.gate.entrance import Entrance
from dashboard.gate.signed_in import SignedIn

_HELD: list[Entrance] = []


def hold(entrance: Entrance) -> None:
    """Make an entrance the one that the pages of this process ask."""
    _HELD[:] = [entrance]


def present() -> SignedIn | None:
    """Whose page this is; None once their session has ended, and where nobody can have come in."""
    if not _HELD:
        return None
    entrance = _HELD[0]
    return entrance.lookup(st.context.cookies.get(entrance.cookie.name, ""))
