"""One supplier's scorecard, to be saved."""

from datetime import UTC, datetime

import streamlit as st

from dashboard.frame import choosing
from dashboard.frame.exports import XLSX_TYPE
from dashboard.gate import present
from dashboard.suppliers.paper import supplier_pages
from dashboard.suppliers.workbook import supplier_workbook
from spc.answers.supplier_cards import SupplierCard, card_of_supplier
from spc.answers.suppliers_compared import SuppliersCompared
from spc.store import Store


def section(store: Store, told: SuppliersCompared) -> None:
    """One supplier's scorecard over all its materials, made when it is asked for."""
    suppliers = told.suppliers.supplier
    supplier = choosing.one_of("Supplier", suppliers, key="card")

    def collected() -> SupplierCard:
        return card_of_supplier(
            store, supplier, printed_by=present.name(), printed_at=datetime.now(UTC)
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
