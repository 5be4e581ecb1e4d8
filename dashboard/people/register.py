"""The register: inviting, changing and ending, each under the administrator's secret."""

from datetime import UTC, datetime

import streamlit as st

from dashboard.frame import acting, session, signing
from dashboard.people import handed, tables, words
from spc.store import Store
from spc.store.people import ROLES, Entry, Person


def listed(store: Store) -> None:
    """Everybody in the register."""
    everybody = store.people.every()
    if everybody:
        now = datetime.now(UTC).replace(tzinfo=None)
        st.dataframe(tables.people(everybody, now), hide_index=True)


def invite(store: Store) -> None:
    """The form that enters a person; the link of the invitation is shown once."""
    with st.expander("Invite a person"), st.form("invite"):
        entry = _entry(None)
        reason = st.text_input(words.REASON, value="joins the house")
        pressed = st.form_submit_button("Invite", type="primary")
    if pressed:
        signing.errand(
            f"Invite {entry.name}",
            [*words.entry(entry), ("reason", reason)],
            do=lambda by: store.people.invite(entry, by=by, reason=reason),
            then=handed.link(entry.name or ""),
        )


def change(store: Store) -> None:
    """What can be done about a person who is in the register."""
    everybody = store.people.every()
    if not everybody:
        return
    with st.expander("Change, invite anew or end"):
        one = st.selectbox(
            "Person", everybody, format_func=words.named, index=None, placeholder="Choose a person"
        )
        if one is None:
            return
        with st.form(f"change-{one.person}"):
            entry = _entry(one)
            reason = st.text_input(words.REASON)
            left, middle, right = st.columns(3)
            changed = left.form_submit_button("Change the entry", type="primary")
            again = middle.form_submit_button("Invite to a new secret")
            ended = right.form_submit_button("End their access")
        out = st.button("End their sessions")
    if changed:
        _change(store, one, entry, reason)
    elif again:
        _again(store, one)
    elif ended:
        _end(store, one, reason)
    elif out:
        _sign_out(store, one)


def _entry(one: Person | None) -> Entry:
    """The fields of an entry, filled with what is known."""
    key = one.person if one else "new"
    left, right = st.columns(2)
    name = left.text_input("Name, as it is to be printed", one.name if one else "", key=f"n{key}")
    sign_in = right.text_input("Signs in as", one.sign_in if one else "", key=f"s{key}")
    roles = st.multiselect("Roles", ROLES, one.roles if one else (), key=f"r{key}")
    email = left.text_input("E-mail", one.email if one else "", key=f"e{key}")
    provider = right.text_input(
        "Who they are at the company's provider",
        one.provider if one else "",
        key=f"p{key}",
        help="Issuer and subject, as the provider tells them; empty for an account with a secret.",
    )
    return Entry(name=name, sign_in=sign_in, roles=tuple(roles), email=email, provider=provider)


def _change(store: Store, one: Person, entry: Entry, reason: str) -> None:
    signing.errand(
        f"Change the entry of {one.name}",
        [*words.entry(entry), ("reason", reason)],
        do=lambda by: store.people.change(one.person, entry, by=by, reason=reason),
        then=lambda after: session.tell(f"The entry of {after.name} is changed."),
    )


def _again(store: Store, one: Person) -> None:
    signing.errand(
        f"Invite {one.name} to a new secret",
        [("until then", "the old secret holds until a new one is chosen")],
        do=lambda by: store.people.invite_again(one.person, by=by),
        then=handed.link(one.name),
    )


def _end(store: Store, one: Person, reason: str) -> None:
    signing.errand(
        f"End the access of {one.name}",
        [("what stays", "everything they signed, under their name"), ("reason", reason)],
        do=lambda by: store.people.end(one.person, by=by, reason=reason),
        then=lambda _: session.tell(f"{one.name} can no longer sign in."),
    )


def _sign_out(store: Store, one: Person) -> None:
    store.people.end_sessions(one.person, by=acting.proof())
    session.tell(f"{one.name} is signed out everywhere.")
    st.rerun()
