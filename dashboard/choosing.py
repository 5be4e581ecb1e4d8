"""Choosing a stream: material, supplier, then what was measured; kept in the address."""

from collections.abc import Sequence

import streamlit as st

from dashboard.views import VIEWS, View
from spc.store import StreamKey


def stream(keys: Sequence[StreamKey]) -> StreamKey:
    """The stream chosen; heat by the method with most streams comes first."""
    left, middle, right, last = st.columns(4)
    material = _choice(left, "Material", "material", [key.material for key in keys])
    keys = [key for key in keys if key.material == material]
    supplier = _choice(middle, "Supplier", "supplier", [key.supplier for key in keys])
    keys = [key for key in keys if key.supplier == supplier]
    characteristic = _choice(
        right, "Characteristic", "characteristic", [key.characteristic for key in keys], "heat"
    )
    keys = [key for key in keys if key.characteristic == characteristic]
    method = _choice(last, "Method", "method", [key.method for key in keys], "rapid sensor")
    keys = [key for key in keys if key.method == method]
    if len(keys) == 1:
        return keys[0]
    basis = _choice(last, "Basis", "basis", [key.basis for key in keys], "as-is")
    return next(key for key in keys if key.basis == basis)


def view() -> View:
    """How to look at the stream; kept in the address."""
    chosen = st.segmented_control(
        "Shown as", VIEWS, default=VIEWS[0], key="view", bind="query-params"
    )
    return chosen or VIEWS[0]


def _choice(
    place: "st.delta_generator.DeltaGenerator",
    label: str,
    key: str,
    options: Sequence[str],
    first: str = "",
) -> str:
    names = list(dict.fromkeys(options))
    index = names.index(first) if first in names else 0
    chosen = place.selectbox(label, names, index=index, key=key, bind="query-params")
    return chosen if chosen in names else names[index]
