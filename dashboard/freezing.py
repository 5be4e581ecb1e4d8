"""Freezing a baseline: which lots say what is usual, signed and with reasons."""

import pandas as pd
import streamlit as st

from dashboard import session, tables, wording
from spc.errors import LotHeatError
from spc.store import Store, StreamKey


def baseline(store: Store, key: StreamKey, points: pd.DataFrame) -> None:
    """Past versions, and the form for the next."""
    past = store.baselines(key)
    if past.empty:
        st.markdown(wording.PROVISIONAL)
    else:
        st.dataframe(tables.baselines_table(past), hide_index=True)
    lots = points["lot"].tolist()
    name, _ = session.who()
    with st.expander("Freeze a baseline"), st.form("baseline"):
        chosen = st.select_slider(
            "From the first to the last lot of the baseline",
            lots,
            value=(lots[0], lots[-1]),
        )
        left_out = st.multiselect("Leave out", lots)
        why = st.text_input("Why they are left out")
        by = st.text_input("Your name", value=name)
        reason = st.text_input("Reason for this baseline")
        signed = st.form_submit_button("Freeze", type="primary")
    if signed:
        between = lots[lots.index(chosen[0]) : lots.index(chosen[1]) + 1]
        _freeze(
            store,
            key,
            [lot for lot in between if lot not in left_out],
            dict.fromkeys(left_out, why),
            (by, reason),
        )


def _freeze(
    store: Store,
    key: StreamKey,
    lots: list[str],
    left_out: dict[str, str],
    said: tuple[str, str],
) -> None:
    by, reason = said
    try:
        version = store.freeze_baseline(key, lots=lots, left_out=left_out, by=by, reason=reason)
    except LotHeatError as problem:
        st.error(str(problem))
        return
    session.tell(f"Baseline {version} of {len(lots)} lots is frozen.")
    st.rerun()
