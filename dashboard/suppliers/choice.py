"""Which material's suppliers are compared, and by what."""

import streamlit as st

from dashboard.frame import choosing, session
from dashboard.frame.escaping import marked
from spc.answers.methods import declared_methods
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
        st.info(marked(f"{problem.what[:1].upper()}{problem.what[1:]} {problem.remedy}"))
        return None


@st.cache_resource(max_entries=8)
def _compared(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    material: str,
    characteristic: str,
    margin: float,
) -> SuppliersCompared:
    return compare_suppliers(session.store(), material, characteristic, margin=margin)
