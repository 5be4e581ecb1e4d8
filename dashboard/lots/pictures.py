"""Figures of a lot's dossier, built once for each variant."""

from typing import Any

import pandas as pd
import streamlit as st

from dashboard.frame.charts.spec import as_spec
from dashboard.lots.charts.acceptance_curve import acceptance_curve_chart
from dashboard.lots.charts.conformity import conformity_chart
from dashboard.lots.tables import acceptance_frame
from spc.acceptance import Line
from spc.answers.sampling import AcceptanceCurve


@st.cache_resource
def _conformity_spec(*, log: bool, lower: bool, upper: bool) -> dict[str, Any]:
    return as_spec(conformity_chart(log=log, lower=lower, upper=upper))


def conformity(frame: pd.DataFrame, line: Line, *, key: str) -> None:
    """The plausible values of a lot mean against the limits of a line."""
    spec = _conformity_spec(
        log=line.scale == "log", lower=line.lower is not None, upper=line.upper is not None
    )
    st.vega_lite_chart(frame, spec, key=key)


@st.cache_resource
def _acceptance_spec(*, title: str) -> dict[str, Any]:
    return as_spec(acceptance_curve_chart(title=title))


def acceptance_curve(curve: AcceptanceCurve, *, title: str) -> None:
    """How likely a plan is to accept a lot."""
    frame = acceptance_frame(curve)
    st.vega_lite_chart(frame, _acceptance_spec(title=title), key=f"acceptance-{title}")
