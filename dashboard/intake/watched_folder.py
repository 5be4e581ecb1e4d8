"""What the watched folder does not take in by itself, and the files it asks about."""

import streamlit as st

from dashboard.frame import acting, session
from dashboard.frame.escaping import marked
from dashboard.frame.folder_board import BOARD
from dashboard.gate import present
from dashboard.intake import blocks
from dashboard.intake.words import files


def section() -> None:
    """The watched folder, if there is one: what waits there, and the questions it has."""
    if BOARD.place is None:
        return
    notices = BOARD.notices
    st.subheader("Watched folder")
    st.markdown(marked(files.watched(str(BOARD.place), notices)))
    if notices:
        st.html(blocks.notices(notices))
    asked = [one.name for one in notices if one.asked]
    if asked:
        _question(asked)


def _question(asked: list[str]) -> None:
    """Which of the files in doubt are whole; who says so is who is signed in."""
    if refused := acting.may("receive files"):
        st.info(marked(refused))
        return
    with st.form("folder-whole"):
        whole = st.multiselect("These files are whole as they are", asked)
        st.caption(marked(files.called_by(acting.actor().name)))
        if not st.form_submit_button("Take them in"):
            return
    if not whole:
        st.error("Name the files that are whole.")
        return
    for name in whole:
        BOARD.answer(name, by=present.proof())
    session.tell(files.called_whole(whole))
    st.rerun()
