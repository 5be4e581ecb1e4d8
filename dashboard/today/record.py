"""The record: whether it can be believed, when that was last seen, and what runs by itself."""

import streamlit as st

from dashboard.frame import upkeep
from dashboard.frame.escaping import marked
from dashboard.frame.upkeep import Upkeep
from dashboard.gate import present
from dashboard.today import blocks, words

# While something runs the part looks again so often.
_LOOKS_AGAIN_S = 1.0


def show() -> None:
    """The part, where a server keeps the record; it looks again while a job runs."""
    kept = upkeep.held()
    if kept is None:
        return
    st.subheader("The record")
    busy = any(one.busy for one in kept.told())
    st.fragment(_shown, run_every=_LOOKS_AGAIN_S if busy else None)(kept, busy=busy)


def _shown(kept: Upkeep, *, busy: bool) -> None:
    told = kept.told()
    if busy and not any(one.busy for one in told):
        # Nothing runs any more, so the page need not look again.
        st.rerun()
    verify = words.job(told, upkeep.VERIFY)
    alarm = words.wrong(verify)
    if alarm:
        st.error(marked(alarm))
    st.markdown(
        marked(words.verified(verify, words.job(told, upkeep.ANCHOR), anchors=kept.anchors))
    )
    person = present.present()
    if st.button("Verify now", disabled=verify.busy or person is None) and person is not None:
        kept.ask(upkeep.VERIFY, by=person.name)
        st.rerun()
    with st.expander("What runs by itself"):
        st.html(blocks.jobs(told))
