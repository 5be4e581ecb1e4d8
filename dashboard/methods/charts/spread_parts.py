"""Where the spread of readings comes from, level by level, each with its interval."""

from typing import Any, Final

import altair as alt

from dashboard.frame.charts.axes import colour, number_axis
from dashboard.frame.charts.share_axis import share_axis
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import INK, MEASURED

COLUMNS: Final = ("level", "sd", "low", "high", "label", "stated")
_STEP: Final = 34


def spread_parts_chart(*, share: bool) -> alt.LayerChart:
    """Chart of standard deviations by level, on placeholder data.

    Parameters
    ----------
    share
        Whether they are shares of the value, else in its unit.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`, one row a level in the order given; `stated` holds, on the level
        that has one, the standard deviation stated for it, which is drawn as a tick.
    """
    base = alt.Chart()
    y = alt.Y(
        "level:N",
        sort=None,
        axis=alt.Axis(title=None, labelColor=colour(INK), labelFontSize=12, labelLimit=140),
    )
    axis = share_axis(signed=False) if share else number_axis("x", log=False)
    x = alt.X("sd:Q", scale=alt.Scale(zero=True, padding=4), axis=axis)
    hover: list[Any] = [
        alt.Tooltip("level:N", title="between"),
        alt.Tooltip("label:N", title="standard deviation"),
    ]
    layers = [
        base.mark_rule(color=colour(MEASURED), strokeWidth=1.6, opacity=0.75, aria=False).encode(
            y=y, x=alt.X("low:Q"), x2=alt.X2("high:Q")
        ),
        base.mark_point(size=60, filled=True, opacity=1, color=colour(MEASURED)).encode(
            y=y, x=x, tooltip=hover
        ),
        base.transform_filter("isValid(datum.stated)")
        .mark_tick(orient="vertical", size=22, thickness=2.4, color=colour(INK), aria=False)
        .encode(y=y, x=alt.X("stated:Q")),
        base.transform_filter("isValid(datum.stated)")
        .mark_text(align="left", dx=6, dy=-9, fontSize=12, color=colour(INK), aria=False)
        .encode(y=y, x=alt.X("stated:Q"), text=alt.value("stated")),
    ]
    return layered(layers, columns=COLUMNS, height={"step": _STEP})
