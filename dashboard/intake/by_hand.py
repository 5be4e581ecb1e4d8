"""Results typed in by a person: a sheet for one method, looked at, then taken in like a file."""

import pandas as pd
import streamlit as st

from dashboard.frame import session
from dashboard.gate import present
from dashboard.intake.tables.files import preview_held, preview_table
from dashboard.intake.words import by_hand, files, proposals
from spc.errors import InvalidInput, LotHeatError
from spc.intake.by_hand import Sheet, reading_units
from spc.store import Store

_BLANK_ROWS = 3


def form(store: Store) -> None:
    """The part of the intake screen where results are typed in."""
    part = st.expander("Type results in", on_change="rerun", key="typing-in")
    if not part.open:
        return
    with part:
        sheet = _sheet(store)
        if sheet is None:
            st.info(by_hand.OPEN)
            return
        st.markdown(by_hand.HOW)
        _look_and_take_in(store, sheet, _typed(sheet))


def _sheet(store: Store) -> Sheet | None:
    """What was measured, in which unit and on which basis; None while that is open."""
    left, middle, right = st.columns(3)
    method = left.selectbox(
        "What was measured",
        store.catalogue().methods,
        index=None,
        format_func=proposals.method,
        key="typed-method",
    )
    if method is None:
        return None
    units = reading_units(method)
    unit = middle.selectbox("Unit of what is typed", units, key=f"typed-unit-{units[0]}")
    basis = right.selectbox(
        "Basis",
        list(proposals.BASES),
        index=None,
        format_func=proposals.BASES.__getitem__,
        key="typed-basis",
    )
    if basis is None:
        return None
    return Sheet(method=method, unit=unit, basis=basis)


def _typed(sheet: Sheet) -> list[dict[str, str]]:
    """The rows as they were last handed over for a check."""
    blank = pd.DataFrame("", index=range(_BLANK_ROWS), columns=list(sheet.headers), dtype="str")
    key = f"{sheet.name}-{session.turn()}"
    # In a form no key stroke is lost while what was typed before it is being checked.
    with st.form(f"form of {key}", border=False):
        edited = st.data_editor(blank, num_rows="dynamic", hide_index=True, key=key)
        st.form_submit_button("Check what is typed")
    return [
        {str(header): text for header, text in row.items()}
        for row in edited.fillna("").to_dict("records")
    ]


def _look_and_take_in(store: Store, sheet: Sheet, rows: list[dict[str, str]]) -> None:
    try:
        receipt, fate = store.intake.preview_typed(sheet, rows)
    except InvalidInput:
        st.info(by_hand.EMPTY)
        return
    except LotHeatError as problem:
        st.error(str(problem))
        return
    st.markdown(f"{files.receipt(receipt)} Nothing is stored yet.")
    if not fate.results.empty:
        st.dataframe(preview_table(fate.results), hide_index=True)
    if not fate.held.empty:
        st.dataframe(preview_held(fate.held), hide_index=True)
    if st.button("Take in what is typed", type="primary"):
        try:
            session.tell(files.receipt(store.intake.type_in(sheet, rows, by=present.proof())))
        except LotHeatError as problem:
            st.error(str(problem))
            return
        session.next_turn()
        st.rerun()
