"""What is attached to a lot, and the place to attach more."""

import streamlit as st

from dashboard.frame.changing import done
from dashboard.gate import present
from dashboard.lots import words
from spc.store import Store


def section(store: Store, lot: str) -> None:
    """What is attached to the lot, and the place to attach more."""
    frame = store.attachments(lot)
    for row in frame.to_dict("records"):
        file, content = store.attachment_bytes(row["attachment"])
        st.download_button(words.attachment(row), content, file_name=file, key=row["attachment"])
    with st.expander("Attach a file"), st.form("attachment", clear_on_submit=True):
        dropped = st.file_uploader("A certificate, a picture, a letter", max_upload_size=25)
        note = st.text_input("What it is")
        signed = st.form_submit_button("Attach")
    if signed and dropped is not None:
        done(
            lambda: store.attach(
                lot, name=dropped.name, content=dropped.getvalue(), note=note, by=present.proof()
            ),
            lambda _: f"{dropped.name} is attached.",
        )
