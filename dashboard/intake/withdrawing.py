"""A file or a sensor batch withdrawn: first what would change, then the two persons."""

from typing import Final

import streamlit as st

from dashboard.frame import pending, saving, session, signing
from dashboard.frame.escaping import marked, plain
from dashboard.intake import blocks
from dashboard.intake.tables.mending import blends_table, changed_table
from dashboard.intake.words import mending
from spc.errors import LotHeatError
from spc.store import Store
from spc.store.files.withdrawals import Consequences, Kind

KINDS: Final[tuple[Kind, ...]] = ("file", "sensor batch")
# Lots whose verdicts stand one below the other in full.
_SHOWN: Final = 12


def section(store: Store) -> None:
    """Choose what might be withdrawn, and see every verdict and blend that would change."""
    kind = st.radio("Look at a", KINDS, horizontal=True, key="withdraw", bind="query-params")
    if kind == "sensor batch":
        batches = store.intake.sensor_batches()["sensor_batch"].tolist()
        names = dict(zip(batches, batches, strict=True))
    else:
        files = store.intake.files()
        names = dict(zip(files["receipt"], files["name"], strict=True))
    name = st.selectbox(
        "Which",
        list(names),
        format_func=names.__getitem__,
        index=None,
        placeholder="Choose, to see what would change without it",
        key=f"withdraw-{kind}".replace(" ", "-"),
        bind="query-params",
    )
    if not name:
        return
    try:
        told = _would_change(store.revision(), kind, name)
    except LotHeatError as problem:
        st.info(plain(str(problem)))
        return
    what = f"{kind} {names[name]}"
    _consequences(told, what)
    _sign(store, kind, name, what)


@st.cache_resource(max_entries=4, show_spinner="Judging the lots again without it …")
def _would_change(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    kind: Kind,
    name: str,
) -> Consequences:
    return session.store().intake.would_change(kind, name)


def _consequences(told: Consequences, what: str) -> None:
    st.markdown(plain(mending.consequences(told, what)))
    if told.changed:
        st.html(blocks.changed(told.changed[:_SHOWN]))
        table = changed_table(told)
        with st.expander(marked(f"All {len(table)} as a table"), expanded=len(table) > _SHOWN):
            st.dataframe(table, hide_index=True)
            saving.table(table, name="lots-judged-otherwise")
    if not told.blends.empty:
        table = blends_table(told)
        st.dataframe(table, hide_index=True)
        saving.table(table, name="blends-concerned")


def _sign(store: Store, kind: Kind, name: str, what: str) -> None:
    pending.about(what, key=name)
    with st.expander(plain(f"Withdraw {what}")), st.form("withdraw-form"):
        st.markdown(mending.WITHDRAWING)
        cause = st.text_input("Cause that was found")
        signed = st.form_submit_button("Withdraw")
    if signed:
        signing.ask(lambda by: store.intake.ask_withdrawal(kind, name, cause=cause, by=by))
