"""Programs that send files: their tokens, each told once and ended when it is no longer needed."""

from datetime import UTC, datetime, timedelta

import streamlit as st

from dashboard.frame import session, signing
from dashboard.people import handed, tables, words
from spc.store import Store
from spc.store.people import SENDER_DEEDS, Grant


def listed(store: Store) -> None:
    """Every token that was issued."""
    every = store.people.tokens()
    if every:
        st.dataframe(tables.tokens(every), hide_index=True)
    else:
        st.markdown(words.NO_SENDER)


def issue(store: Store) -> None:
    """The form that lets a program in; its token is shown once."""
    with st.expander("Issue a token"), st.form("token"):
        left, right = st.columns(2)
        sender = left.text_input("Which program, such as balance 3")
        days = right.number_input("Days it holds", min_value=1, max_value=400, value=90, step=1)
        scope = st.multiselect("What it may do", SENDER_DEEDS, ["receive files"])
        reason = st.text_input(words.REASON, value="sends files")
        pressed = st.form_submit_button("Issue", type="primary")
    if pressed:
        until = datetime.now(UTC).replace(tzinfo=None) + timedelta(days=days)
        grant = Grant(sender=sender, scope=tuple(scope), until=until)
        signing.errand(
            f"A token for {sender}",
            [*words.grant(grant), ("reason", reason)],
            do=lambda by: store.people.issue_token(grant, by=by, reason=reason),
            then=handed.token(sender),
        )


def end(store: Store) -> None:
    """Ends a token that holds."""
    holding = [one for one in store.people.tokens() if not one.ended]
    if not holding:
        return
    with st.expander("End a token"), st.form("end-token"):
        one = st.selectbox(
            "Token", holding, format_func=lambda one: f"{one.sender} ({one.token[:8]})"
        )
        reason = st.text_input(words.REASON)
        pressed = st.form_submit_button("End it")
    if pressed:
        signing.errand(
            f"End the token of {one.sender}",
            [("reason", reason)],
            do=lambda by: store.people.end_token(one.token, by=by, reason=reason),
            then=lambda _: session.tell(f"The token of {one.sender} opens nothing any more."),
        )
