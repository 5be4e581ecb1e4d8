"""Figures of the blends screen: built once for each variant, then fed with data by name."""

from typing import Any

import pandas as pd
import streamlit as st

from dashboard.blends.charts.cost import cost_chart
from dashboard.blends.charts.future import future_chart, future_height
from dashboard.blends.charts.outcome import outcome_chart
from dashboard.blends.charts.recipe import blend_chart, blend_height
from dashboard.frame.charts.spec import as_spec


@st.cache_resource
def _blend_spec(*, rows: int, unit: str) -> dict[str, Any]:
    return {**as_spec(blend_chart(log=True, unit=unit)), "height": blend_height(rows)}


@st.cache_resource
def _cost_spec(*, title: str, log: bool) -> dict[str, Any]:
    return as_spec(cost_chart(title=title, log=log))


@st.cache_resource
def _outcome_spec(*, unit: str) -> dict[str, Any]:
    return as_spec(outcome_chart(log=True, unit=unit))


@st.cache_resource
def _future_spec(*, rows: int, unit: str) -> dict[str, Any]:
    return {**as_spec(future_chart(unit=unit)), "height": future_height(rows)}


def blend(frame: pd.DataFrame, *, rows: int, unit: str, told: str) -> None:
    """The window, the stock, the portions and what comes of them."""
    st.vega_lite_chart(frame, _blend_spec(rows=rows, unit=unit), key="blend", alt=told)


def cost(frame: pd.DataFrame, *, title: str, log: bool, key: str) -> None:
    """What a kilogram costs against what is asked."""
    st.vega_lite_chart(frame, _cost_spec(title=title, log=log), key=key)


def outcome(frame: pd.DataFrame, *, unit: str) -> None:
    """Predicted against measured."""
    st.vega_lite_chart(frame, _outcome_spec(unit=unit), key="outcome")


def future(frame: pd.DataFrame, *, unit: str, told: str) -> None:
    """The next lots of each supplier, and blends of them."""
    st.vega_lite_chart(frame, _future_spec(rows=len(frame), unit=unit), key="future", alt=told)
