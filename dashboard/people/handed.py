"""What is handed over once: the link of an invitation, or a sender's token."""

from collections.abc import Callable
from urllib.parse import urlsplit

import streamlit as st

from dashboard.frame.escaping import marked
from dashboard.gate.invitations import JOIN
from dashboard.people import words

_KEPT = "handed over"


def link(name: str) -> Callable[[str], None]:
    """Keeps the link of an invitation until it was passed on."""

    def keep(code: str) -> None:
        here = urlsplit(st.context.url or "")
        address = f"{here.scheme}://{here.netloc}{JOIN}/{code}"
        st.session_state[_KEPT] = (words.CODE_ONCE.format(name=name), address)

    return keep


def token(name: str) -> Callable[[str], None]:
    """Keeps a token until it was passed on."""

    def keep(key: str) -> None:
        st.session_state[_KEPT] = (words.TOKEN_ONCE.format(name=name), key)

    return keep


def over() -> None:
    """Show what is to be handed over, until the person says that they have it."""
    told = st.session_state.get(_KEPT)
    if told is not None:
        st.dialog(words.HAND_OVER, dismissible=False)(_shown)(*told)


def _shown(sentence: str, secret: str) -> None:
    st.markdown(marked(sentence))
    st.code(secret, language=None, wrap_lines=True)
    if st.button(words.PASSED_ON, type="primary"):
        del st.session_state[_KEPT]
        st.rerun()
