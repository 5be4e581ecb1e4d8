"""The store that the running server holds, and who is looking at it."""

import streamlit as st

from dashboard.frame.escaping import marked, plain
from spc.errors import StoreError
from spc.store import Store

_HELD: list[Store] = []


def hold(store: Store) -> None:
    """Make a store the one that every page of this process uses."""
    _HELD[:] = [store]


def release() -> None:
    """Close the store."""
    while _HELD:
        _HELD.pop().close()


def store() -> Store:
    """The store of this process.

    Raises
    ------
    StoreError
        If the server was started without one.
    """
    if not _HELD:
        raise StoreError(
            "the dashboard was started without a store.",
            remedy="Start it with `lotheat serve` or `lotheat demo`.",
        )
    return _HELD[0]


def tell(message: str) -> None:
    """Keep a message for the next run of the page."""
    st.session_state["told"] = message


def warn(message: str) -> None:
    """Keep for the next run of the page why nothing was done."""
    st.session_state["warned"] = message


def turn() -> int:
    """The number of this visit's delivery; a new one empties the place where files are dropped."""
    return int(st.session_state.get("turn", 0))


def next_turn() -> None:
    """Begin the next delivery."""
    st.session_state["turn"] = turn() + 1


def show_message() -> None:
    """Show the message that was kept, once."""
    message = st.session_state.pop("told", "")
    if message:
        st.success(marked(message))
    warning = st.session_state.pop("warned", "")
    if warning:
        st.warning(plain(warning))
    if message or warning:
        # The form that it is about may stand far below.
        st.toast(plain(message or warning))
