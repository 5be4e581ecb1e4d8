"""Proposing a specification: edit the lines, see what they would have done, hand it on."""

from datetime import timedelta
from typing import Any, get_args

import streamlit as st

from dashboard.frame.changing import done
from dashboard.frame.escaping import marked
from dashboard.gate import present
from dashboard.specifications import typed
from spc.acceptance import Specification
from spc.acceptance.specification import Requirement, Rule
from spc.answers import specifications
from spc.errors import LotHeatError
from spc.intake import Catalogue
from spc.intake.catalogue import parse
from spc.store import Store

LAST_LOTS = 50


def next_version(store: Store, catalogue: Catalogue, newest: Specification) -> None:
    """The form, its preview over the last lots, and the proposal."""
    version = 1 + max(
        one.version
        for one in store.approvals.received()
        if isinstance(one, Specification) and one.material == newest.material
    )
    edited = st.data_editor(
        typed.as_typed(specifications.lines_table(newest)),
        hide_index=True,
        num_rows="dynamic",
        key=f"lines-{newest.material}-{version}",
        column_config=_columns(catalogue),
    )
    effective = st.date_input("To be in force from", value=store.today() + timedelta(days=1))
    reason = st.text_input("Reason for the change")
    try:
        lines = typed.as_read(edited)
        text = specifications.proposed_text(
            newest.material,
            version=version,
            effective_from=effective,
            reason=reason,
            lines=lines,
        )
        proposed = parse(text, known=catalogue).specifications[0]
    except LotHeatError as problem:
        st.error(marked(str(problem)))
        return
    if told := typed.read_otherwise(edited, lines):
        st.caption(marked(told))
    look, propose = st.columns(2)
    if look.button(f"See what it would have done to the last {LAST_LOTS} lots"):
        _preview(store, newest, proposed)
    if propose.button(f"Propose version {version}", type="primary"):
        _propose(store, proposed, text)


def _columns(catalogue: Catalogue) -> dict[str, Any]:
    names = [one.characteristic for one in catalogue.characteristics]
    column = st.column_config
    return {
        "characteristic": column.SelectboxColumn(options=names, required=True),
        "requirement": column.SelectboxColumn(options=get_args(Requirement), required=True),
        "rule": column.SelectboxColumn("decided by", options=get_args(Rule), required=True),
        "basis": column.SelectboxColumn(options=["", "as-is", "dry"]),
        "reference_method_only": column.CheckboxColumn("reference method only"),
        "each_sample": column.CheckboxColumn("each sample"),
        **{name: column.TextColumn(words) for name, (words, *_) in typed.NUMBERS.items()},
    }


def _preview(store: Store, newest: Specification, proposed: Specification) -> None:
    effect = specifications.effect_of_proposal(store, newest, proposed, last=LAST_LOTS)
    st.dataframe(effect.by_supplier(), hide_index=True)
    changed = effect.judged_otherwise()
    if changed.empty:
        st.markdown("No lot would have been judged otherwise.")
    else:
        st.dataframe(changed, hide_index=True)


def _propose(store: Store, proposed: Specification, text: str) -> None:
    """Receive the version as a catalogue of its own; it judges nothing before its approval."""
    if not proposed.reason:
        st.error("A proposal stands with a reason.")
        return
    file = f"specification-{proposed.material.replace(' ', '-')}-{proposed.version}.toml"
    done(
        lambda: store.receive_bytes(file, text.encode(), by=present.proof()),
        lambda _: f"Version {proposed.version} is proposed; it waits for its approval.",
    )
