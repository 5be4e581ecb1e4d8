"""What waits for a second person's signature, or for a countersignature, where it is about."""

import streamlit as st

from dashboard.frame import signing, signing_words
from spc.store import Store
from spc.store.people import Request


def waiting(store: Store, subject: str, *, key: str = "") -> None:
    """Say what was signed about a subject and is not done yet, and let somebody sign beside.

    Parameters
    ----------
    key
        What names the subject in the store, where others may be called the same.
    """
    for one in store.signing.about(subject):
        if key not in ("", one.about.get("key"), one.about.get("name")):
            continue
        if one.state == "waiting" or one.alone:
            _one(one)


def _one(request: Request) -> None:
    (first, *_) = request.signatures
    st.info(signing_words.pending(request))
    label = "Countersign" if request.alone else f"Sign with {first.name}"
    if st.button(label, key=f"sign-{request.request}"):
        signing.show([request])
