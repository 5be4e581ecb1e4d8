"""Held rows by file and reason: checked again, dismissed, or mended."""

import pandas as pd
import streamlit as st

from dashboard.frame import session
from dashboard.frame.changing import done
from dashboard.frame.escaping import plain
from dashboard.frame.tables import held_table
from dashboard.gate import present
from dashboard.intake import alike, confirming, correcting, mending
from dashboard.intake.tables.files import held_groups
from dashboard.intake.words import files
from spc.errors import LotHeatError
from spc.intake.checks.holds import CONFIRMABLE
from spc.store import Store
from spc.store.files.sorting import CHANGED_VALUE


def section(store: Store, rows: pd.DataFrame) -> None:
    """Held rows by file and kind of reason, with what can be done about them."""
    _all_again(store)
    for group in held_groups(rows).to_dict("records"):
        mine = rows[(rows["receipt"] == group["receipt"]) & (rows["code"] == group["code"])]
        with st.expander(plain(files.held_group(group))):
            _group(store, mine, key=f"{group['receipt']}-{group['code']}")


def _all_again(store: Store) -> None:
    with st.form("held-all"):
        if not st.form_submit_button("Check all of them again"):
            return
    done(
        lambda: store.intake.check_all_again(by=present.proof()),
        lambda taken: files.all_checked_again(taken, len(store.held())),
    )


def _group(store: Store, every: pd.DataFrame, *, key: str) -> None:
    mine = _of_one_reason(every, key)
    st.markdown(plain(f"{files.reasons(mine['reason'])} {mine['remedy'].iloc[0]}"))
    st.dataframe(held_table(mine), hide_index=True)
    with st.form(f"held-{key}"):
        reason = st.text_input("Reason, if you dismiss them")
        left, right = st.columns(2)
        again = left.form_submit_button("Check the file again")
        dismiss = right.form_submit_button(f"Dismiss these {len(mine)}")
    if again or dismiss:
        _settle(store, mine, reason if dismiss else None)
    if mine["code"].isin(CONFIRMABLE).all():
        confirming.form(store, mine, key=key)
    if mine["code"].eq(CHANGED_VALUE).all():
        correcting.form(store, mine, key=key)
    alike.form(store, mine, key=key)
    if st.toggle("Mend rows in place", key=f"mending-{key}"):
        mending.form(store, mine, key=key)


def _of_one_reason(every: pd.DataFrame, key: str) -> pd.DataFrame:
    """The rows that were held for the reason that is chosen, or all of them."""
    rows = every["reason"].value_counts()
    if len(rows) == 1:
        return every
    chosen = st.selectbox(
        "Held because",
        rows.index.tolist(),
        index=None,
        placeholder=f"any of {len(rows)} reasons",
        key=f"reason-of-{key}",
    )
    return every if chosen is None else every[every["reason"] == chosen]


def _settle(store: Store, rows: pd.DataFrame, reason: str | None) -> None:
    receipt = str(rows["receipt"].iloc[0])
    try:
        if reason is None:
            taken = store.intake.check_again(receipt, by=present.proof())
            session.tell(files.checked_again(taken))
        else:
            store.intake.dismiss(
                receipt, rows["source_row"].tolist(), by=present.proof(), reason=reason
            )
            session.tell(f"{len(rows)} rows are dismissed.")
    except LotHeatError as problem:
        st.error(plain(str(problem)))
        return
    st.rerun()
