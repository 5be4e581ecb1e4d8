"""The parts of the suppliers' screen: four pictures, levels, the table, how it was worked out."""

from datetime import UTC, datetime
from typing import Any

import pandas as pd
import streamlit as st

from dashboard.frame import choosing, saving, session
from dashboard.frame.charts.spec import as_spec
from dashboard.frame.exports import XLSX_TYPE
from dashboard.suppliers.charts import RowScale, rows_height, supplier_rows_chart
from dashboard.suppliers.paper import supplier_pages
from dashboard.suppliers.tables import comparison as tables_comparison
from dashboard.suppliers.tables import files
from dashboard.suppliers.tables import rows as tables_rows
from dashboard.suppliers.words import certificates, comparison, differences, method
from dashboard.suppliers.workbook import supplier_workbook
from spc.answers.cost import COMMON_FACTOR
from spc.answers.methods import declared_methods
from spc.answers.supplier_cards import SupplierCard, card_of_supplier
from spc.answers.suppliers import MARGIN, compare_suppliers
from spc.answers.suppliers_compared import SuppliersCompared
from spc.errors import InvalidInput
from spc.store import Store


def chosen(store: Store) -> SuppliersCompared | None:
    """The material and characteristic compared, or nothing where nothing can be."""
    declared = declared_methods(store)
    keys = [key for key in store.stream_keys() if key.method not in declared]
    if not keys:
        st.markdown("No own result can be compared yet.")
        st.page_link("intake/screen.py", label="Receive a file with results")
        return None
    most = str(store.lots()["material"].mode()[0])
    material, characteristic, margin = choosing.compared(keys, first=most, margin=MARGIN)
    try:
        return _compared(store.revision(), material, characteristic, margin)
    except InvalidInput as problem:
        st.info(f"{problem.what[:1].upper()}{problem.what[1:]} {problem.remedy}")
        return None


def pictures(told: SuppliersCompared) -> None:
    """Who is consistent, who drifts, whom to believe, what heat costs: in this order."""
    said, moves, unit = method.captions(told), _moves(told), _unit(told)
    first, second = st.columns(2, gap="large")
    with first:
        st.subheader("Who is consistent?")
        st.markdown(comparison.consistency(told))
        rows = tables_rows.consistency_rows(told)
        _picture(rows, "share", "how much lots differ, in per cent", said["consistency"])
    with second:
        st.subheader("Who is drifting?")
        st.markdown(comparison.drift(told))
        title = f"newest crop against earlier ones{unit}"
        _picture(tables_rows.drift_rows(told), moves, title, said["drift"])
    third, fourth = st.columns(2, gap="large")
    with third:
        st.subheader("Whom can I believe?")
        st.markdown(comparison.belief(told))
        title = f"certificate against own result{unit}"
        _picture(tables_rows.belief_rows(told), moves, title, said["belief"])
    with fourth:
        st.subheader("What does heat cost?")
        st.markdown(comparison.cost(told))
        money = f"{differences.currency(told)} per 1000 heat units"
        title = f"{money}, at {COMMON_FACTOR:g} SHU per mg/kg"
        _picture(tables_rows.cost_rows(told), "number", title, said["cost"])


def oddities(told: SuppliersCompared) -> None:
    """What is odd about certificates, and what was looked for."""
    st.markdown(certificates.looked_for(told))
    for sentence in certificates.odd(told):
        st.markdown(f"- {sentence}")
    patterns = tables_comparison.patterns_table(told)
    if not patterns.empty:
        with st.expander("Every pattern with its test"):
            st.dataframe(patterns, hide_index=True)


def level(told: SuppliersCompared) -> None:
    """Mean levels, and which of them differ or are as good as equal."""
    st.markdown(comparison.level(told))
    log = told.found.scale == "log"
    title = f"{told.found.characteristic}, {told.found.unit}"
    left, right = st.columns(2, gap="large")
    with left:
        caption = method.captions(told)["level"]
        _picture(tables_rows.level_rows(told), "log" if log else "number", title, caption)
    pairs = tables_comparison.pairs_table(told)
    if not pairs.empty:
        right.dataframe(pairs, hide_index=True)


def table(told: SuppliersCompared) -> None:
    """Every supplier, with what cannot be said, and all of it to be saved."""
    for sentence in told.suppliers.reasons:
        st.markdown(f"- {sentence}")
    st.dataframe(tables_comparison.suppliers_table(told), hide_index=True)
    name = f"suppliers {told.found.material} {told.found.characteristic}".replace(" ", "-")
    saving.table(files.suppliers_file(told), name=name, beside=files.beside(told))


def card(store: Store, told: SuppliersCompared) -> None:
    """One supplier's scorecard over all its materials, made when it is asked for."""
    suppliers = told.suppliers.supplier
    supplier = choosing.one_of("Supplier", suppliers, key="card")
    name, _ = session.who()

    def collected() -> SupplierCard:
        return card_of_supplier(
            store, supplier, printed_by=name or "the dashboard", printed_at=datetime.now(UTC)
        )

    place, file = st.container(horizontal=True), supplier.replace(" ", "-")
    place.download_button(
        "Save scorecard (PDF)",
        lambda: supplier_pages(collected()),
        file_name=f"{file}.pdf",
        mime="application/pdf",
        on_click="ignore",
    )
    place.download_button(
        "Save scorecard (XLSX)",
        lambda: supplier_workbook(collected()),
        file_name=f"{file}.xlsx",
        mime=XLSX_TYPE,
        on_click="ignore",
    )


def how(told: SuppliersCompared) -> None:
    """By which methods, and how sure."""
    with st.expander("How this was worked out"):
        for paragraph in method.how(told):
            st.markdown(paragraph)


def _picture(frame: pd.DataFrame, scale: RowScale, title: str, caption: str) -> None:
    """A figure as high as it has suppliers; none where nothing could be drawn in it."""
    if frame["value"].isna().all():
        return
    suppliers = int((frame["kind"] == "supplier").sum())
    spec = {**_spec(scale, title), "height": rows_height(suppliers)}
    st.vega_lite_chart(frame, spec, key=title)
    st.caption(caption)


def _moves(told: SuppliersCompared) -> RowScale:
    return "change" if told.found.scale == "log" else "difference"


def _unit(told: SuppliersCompared) -> str:
    return "" if told.found.scale == "log" else f", {told.found.unit}"


@st.cache_resource(max_entries=64)
def _spec(scale: RowScale, title: str) -> dict[str, Any]:
    return as_spec(supplier_rows_chart(scale=scale, title=title))


@st.cache_resource(max_entries=8)
def _compared(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    material: str,
    characteristic: str,
    margin: float,
) -> SuppliersCompared:
    return compare_suppliers(session.store(), material, characteristic, margin=margin)
