"""Figures of the Methods screen: built once for each variant, then fed with data by name."""

from typing import Any

import pandas as pd
import streamlit as st

from dashboard.frame.charts.spec import as_spec
from dashboard.methods.charts.batches import batches_chart
from dashboard.methods.charts.consistency import consistency_chart
from dashboard.methods.charts.pairs import differences_chart, line_chart
from dashboard.methods.charts.spread_parts import spread_parts_chart


@st.cache_resource
def _batches_spec(*, share: bool) -> dict[str, Any]:
    return as_spec(batches_chart(share=share))


@st.cache_resource
def _line_spec(*, log: bool) -> dict[str, Any]:
    return as_spec(line_chart(log=log))


@st.cache_resource
def _differences_spec(*, log: bool) -> dict[str, Any]:
    return as_spec(differences_chart(log=log))


@st.cache_resource
def _spread_parts_spec(*, share: bool) -> dict[str, Any]:
    return as_spec(spread_parts_chart(share=share))


@st.cache_resource
def _consistency_spec(*, signed: bool) -> dict[str, Any]:
    return as_spec(consistency_chart(signed=signed))


def batches(frame: pd.DataFrame, *, share: bool, key: str) -> None:
    """What each sensor batch read of a control sample, over time."""
    st.vega_lite_chart(frame, _batches_spec(share=share), key=key)


def line(frame: pd.DataFrame, *, log: bool) -> None:
    """One method against the other, and the line between them."""
    st.vega_lite_chart(frame, _line_spec(log=log), key="pairs-line")


def differences(frame: pd.DataFrame, *, log: bool) -> None:
    """The differences of two methods against their level."""
    st.vega_lite_chart(frame, _differences_spec(log=log), key="pairs-differences")


def spread_parts(frame: pd.DataFrame, *, share: bool) -> None:
    """Where the spread of readings comes from."""
    st.vega_lite_chart(frame, _spread_parts_spec(share=share), key="spread-parts")


def consistency(frame: pd.DataFrame, *, signed: bool, key: str) -> None:
    """Each laboratory's consistency against what chance exceeds."""
    st.vega_lite_chart(frame, _consistency_spec(signed=signed), key=key)
