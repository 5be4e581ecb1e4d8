"""Proposing a specification: edit the lines, see what they would have done, approve."""

from datetime import timedelta
from functools import partial
from typing import Any, get_args

import streamlit as st

from dashboard.frame.changing import done
from dashboard.gate import present
from spc.acceptance import Specification
from spc.acceptance.specification import Requirement, Rule
from spc.answers import specifications
from spc.errors import LotHeatError
from spc.intake import Catalogue
from spc.intake.catalogue import parse
from spc.store import Store

LAST_LOTS = 50


def next_version(store: Store, catalogue: Catalogue, newest: Specification) -> None:
    """The form, its preview over the last lots, and the approval."""
    lines = st.data_editor(
        specifications.lines_table(newest),
        hide_index=True,
        num_rows="dynamic",
        key=f"lines-{newest.material}-{newest.version}",
        column_config=_columns(catalogue),
    )
    effective = st.date_input("In force from", value=store.today() + timedelta(days=1))
    approver = present.name()
    reason = st.text_input("Reason for the change")
    text = specifications.proposed_text(
        newest.material,
        version=newest.version + 1,
        effective_from=effective,
        signed=(approver, reason),
        lines=lines,
    )
    try:
        proposed = parse(text, known=catalogue).specifications[0]
    except LotHeatError as problem:
        st.error(str(problem))
        return
    look, approve = st.columns(2)
    if look.button(f"See what it would have done to the last {LAST_LOTS} lots"):
        _preview(store, newest, proposed)
    if approve.button(f"Approve version {proposed.version}", type="primary"):
        _approve(store, proposed, text, (approver, reason))


def _columns(catalogue: Catalogue) -> dict[str, Any]:
    names = [one.characteristic for one in catalogue.characteristics]
    column = st.column_config
    risk = partial(column.NumberColumn, min_value=0.0001, max_value=0.5)
    return {
        "characteristic": column.SelectboxColumn(options=names, required=True),
        "requirement": column.SelectboxColumn(options=get_args(Requirement), required=True),
        "rule": column.SelectboxColumn("decided by", options=get_args(Rule), required=True),
        "basis": column.SelectboxColumn(options=["", "as-is", "dry"]),
        "consumer_risk": risk("consumer risk"),
        "producer_risk": risk("producer risk"),
        "reference_method_only": column.CheckboxColumn("reference method only"),
        "each_sample": column.CheckboxColumn("each sample"),
        "plan_n": column.NumberColumn("samples n", min_value=1, step=1),
        "plan_k": column.NumberColumn("k"),
        "plan_c": column.NumberColumn("c", min_value=0, step=1),
    }


def _preview(store: Store, newest: Specification, proposed: Specification) -> None:
    effect = specifications.effect_of_proposal(store, newest, proposed, last=LAST_LOTS)
    st.dataframe(effect.by_supplier(), hide_index=True)
    changed = effect.judged_otherwise()
    if changed.empty:
        st.markdown("No lot would have been judged otherwise.")
    else:
        st.dataframe(changed, hide_index=True)


def _approve(store: Store, proposed: Specification, text: str, signed: tuple[str, str]) -> None:
    approver, reason = signed
    if not reason.strip():
        st.error("An approval stands with a reason.")
        return
    file = f"specification-{proposed.material.replace(' ', '-')}-{proposed.version}.toml"
    done(
        lambda: store.receive_bytes(file, text.encode(), by=present.proof()),
        lambda _: (
            f"Version {proposed.version} is approved by {approver} and in force from"
            f" {proposed.effective_from}."
        ),
    )
