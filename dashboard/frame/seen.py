"""What a person saw of lots before they signed: a click must not rest on more than that."""

from collections.abc import Iterable

import streamlit as st

from dashboard.frame.session import store
from spc.store import Seen

_KEPT = "seen of lots"


def first(lots: Iterable[str]) -> dict[str, Seen]:
    """What stood on the page when each lot was first shown, or last told to be new."""
    kept: dict[str, Seen] = st.session_state.setdefault(_KEPT, {})
    for one in lots:
        if one not in kept:
            kept[one] = store().seen(one)
    return kept


def forget(lots: Iterable[str]) -> None:
    """From now on the page counts as seen as it is."""
    kept: dict[str, Seen] = st.session_state.get(_KEPT, {})
    for one in lots:
        kept.pop(one, None)
