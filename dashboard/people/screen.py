"""Who works with the store, how they sign in, and what they may do."""

import streamlit as st

from dashboard.frame import acting, session
from dashboard.frame.escaping import marked
from dashboard.people import handed, own, register, rules, senders, words

store = session.store()
me = acting.actor()
administers = not acting.may("register people")

st.title("People" if administers else "You")
st.markdown(marked(words.people(store.people.every(), me) if administers else words.you(me)))
session.show_message()
handed.over()

if me.sign_in:
    st.subheader("Your sessions")
    own.sessions(store, me)

if administers:
    st.subheader("The register")
    register.listed(store)
    register.invite(store)
    register.change(store)

    st.subheader("Programs that send files")
    senders.listed(store)
    senders.issue(store)
    senders.end(store)

    st.subheader("Rules of the house")
    rules.two_persons(store)
    rules.cut_over(store)
