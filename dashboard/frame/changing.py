"""A change to the store from a form: done and told, or refused in words."""

from collections.abc import Callable
from typing import TypeVar

import streamlit as st

from dashboard.frame import session
from dashboard.frame.escaping import plain
from spc.errors import LotHeatError

Answer = TypeVar("Answer")


def done(change: Callable[[], Answer], told: Callable[[Answer], str]) -> None:
    """Make a change; say what was done on the next run of the page, or why it was refused.

    Parameters
    ----------
    change
        Asks the store.
    told
        What to say, from what the store answered.
    """
    try:
        answer = change()
    except LotHeatError as problem:
        st.error(plain(str(problem)))
        return
    session.tell(told(answer))
    st.rerun()
