"""Who is consistent, who drifts, whom to believe, what heat costs, at which level: drawn."""

from typing import Any

import pandas as pd
import streamlit as st

from dashboard.frame.charts.spec import as_spec
from dashboard.frame.escaping import marked
from dashboard.suppliers.charts import RowScale, rows_height, supplier_rows_chart
from dashboard.suppliers.tables.comparison import pairs_table
from dashboard.suppliers.tables.rows import (
    belief_rows,
    consistency_rows,
    cost_rows,
    drift_rows,
    level_rows,
)
from dashboard.suppliers.words import differences, method, questions
from spc.answers.cost import COMMON_FACTOR
from spc.answers.suppliers_compared import SuppliersCompared


def four_questions(told: SuppliersCompared) -> None:
    """Who is consistent, who drifts, whom to believe, what heat costs: in this order."""
    said, moves, unit = method.captions(told), _moves(told), _unit(told)
    first, second = st.columns(2, gap="large")
    with first:
        st.subheader("Who is consistent?")
        st.markdown(marked(questions.consistency(told)))
        rows = consistency_rows(told)
        _picture(rows, "share", "how much lots differ, in per cent", said["consistency"])
    with second:
        st.subheader("Who is drifting?")
        st.markdown(marked(questions.drift(told)))
        title = f"newest crop against earlier ones{unit}"
        _picture(drift_rows(told), moves, title, said["drift"])
    third, fourth = st.columns(2, gap="large")
    with third:
        st.subheader("Whom can I believe?")
        st.markdown(marked(questions.belief(told)))
        title = f"certificate against own result{unit}"
        _picture(belief_rows(told), moves, title, said["belief"])
    with fourth:
        st.subheader("What does heat cost?")
        st.markdown(marked(questions.cost(told)))
        money = f"{differences.currency(told)} per 1000 heat units"
        title = f"{money}, at {COMMON_FACTOR:g} SHU per mg/kg"
        _picture(cost_rows(told), "number", title, said["cost"])


def level(told: SuppliersCompared) -> None:
    """Mean levels, and which of them differ or are as good as equal."""
    st.markdown(marked(questions.level(told)))
    log = told.found.scale == "log"
    title = f"{told.found.characteristic}, {told.found.unit}"
    left, right = st.columns(2, gap="large")
    with left:
        caption = method.captions(told)["level"]
        _picture(level_rows(told), "log" if log else "number", title, caption)
    pairs = pairs_table(told)
    if not pairs.empty:
        right.dataframe(pairs, hide_index=True)


def _picture(frame: pd.DataFrame, scale: RowScale, title: str, caption: str) -> None:
    """A figure as high as it has suppliers; none where nothing could be drawn in it."""
    if frame["value"].isna().all():
        return
    suppliers = int((frame["kind"] == "supplier").sum())
    spec = {**_spec(scale, title), "height": rows_height(suppliers)}
    st.vega_lite_chart(frame, spec, key=title)
    st.caption(marked(caption))


def _moves(told: SuppliersCompared) -> RowScale:
    return "change" if told.found.scale == "log" else "difference"


def _unit(told: SuppliersCompared) -> str:
    return "" if told.found.scale == "log" else f", {told.found.unit}"


@st.cache_resource(max_entries=64)
def _spec(scale: RowScale, title: str) -> dict[str, Any]:
    return as_spec(supplier_rows_chart(scale=scale, title=title))
