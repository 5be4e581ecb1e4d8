"""Choosing a stream, what to compare, a method or a part of a screen; kept in the address."""

from collections.abc import Sequence

import streamlit as st

from dashboard.frame.numbers import number_field
from spc.answers.streams import VIEWS, View
from spc.intake.methods import MeasuringMethod
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


def compared(keys: Sequence[StreamKey], *, first: str, margin: float) -> tuple[str, str, float]:
    """A material, what was measured of it, and the share that does not matter; heat comes first."""
    left, middle, right = st.columns(3)
    material = _choice(left, "Material", "material", [key.material for key in keys], first)
    measured = [key.characteristic for key in keys if key.material == material]
    characteristic = _choice(middle, "Characteristic", "characteristic", measured, "heat")
    percent = number_field(
        right,
        "Differences that do not matter, up to (%)",
        round(100 * margin),
        least=1,
        most=50,
        key="margin",
        bind="query-params",
    )
    return material, characteristic, percent / 100


def method(methods: Sequence[MeasuringMethod]) -> MeasuringMethod:
    """A method of one characteristic; heat by the rapid sensor comes first."""
    left, right = st.columns(2)
    characteristics = [one.characteristic for one in methods]
    characteristic = _choice(left, "Characteristic", "characteristic", characteristics, "heat")
    measuring = [one for one in methods if one.characteristic == characteristic]
    names = [one.method for one in measuring]
    name = _choice(right, "Method", "method", names, "rapid sensor")
    return next(one for one in measuring if one.method == name)


def one_of(label: str, options: Sequence[str], *, key: str, first: str = "") -> str:
    """One of several names."""
    return _choice(st.container(), label, key, options, first)


def section(names: Sequence[str]) -> str:
    """Which part of the screen to look at."""
    chosen = st.segmented_control(
        "Look at", names, default=names[0], key="section", bind="query-params"
    )
    return chosen or names[0]


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
