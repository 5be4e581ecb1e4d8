"""What the watched folder does not take in by itself, and the files it asks about."""

import streamlit as st

from dashboard.frame import session
from dashboard.frame.folder_board import BOARD
from dashboard.intake.tables.files import notices_seen
from dashboard.intake.words import files


def section() -> None:
    """The watched folder, if there is one: what waits there, and the questions it has."""
    if BOARD.place is None:
        return
    notices = BOARD.notices
    st.subheader("Watched folder")
    st.markdown(files.watched(str(BOARD.place), notices))
    if notices:
        st.dataframe(notices_seen(notices), hide_index=True)
    asked = [one.name for one in notices if one.asked]
    if asked:
        _question(asked)


def _question(asked: list[str]) -> None:
    """Which of the files in doubt are whole, and who says so."""
    with st.form("folder-whole"):
        whole = st.multiselect("These files are whole as they are", asked)
        signer, _ = session.who()
        by = st.text_input("Who looked at them", value=signer).strip()
        if not st.form_submit_button("Take them in"):
            return
    if not (whole and by):
        st.error("Name the files that are whole, and who looked at them; the receipt keeps it.")
        return
    for name in whole:
        BOARD.answer(name, by=by)
    session.tell(files.called_whole(whole))
    st.rerun()
