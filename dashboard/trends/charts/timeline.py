"""One stream on a time axis that several streams share, so that they can stand side by side."""

from typing import Any, Final

import altair as alt

from dashboard.frame.charts.axes import colour, number_axis, number_scale
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import INK, MEASURED, QUIET

COLUMNS: Final = (
    *("lot", "at", "since", "until", "value", "center", "lower", "upper", "signal", "label"),
)
_HEIGHT: Final = 130


def timeline_chart(*, log: bool) -> alt.LayerChart:
    """Chart of one of several streams, on placeholder data.

    Parameters
    ----------
    log
        Whether the characteristic is judged in logs.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`, one row a lot; `since` and `until` are the same in every stream
        shown, so that what happened to several suppliers at once stands above each other.
    """
    # Layers carry no data of their own, so that the page can feed the whole by name.
    base = alt.Chart()
    x = alt.X("at:T", axis=alt.Axis(title=None, format="%b %Y", labelColor=colour(QUIET)))
    y = alt.Y("value:Q", scale=number_scale(log=log, padding=8), axis=number_axis("y", log=log))
    hover: list[Any] = [
        alt.Tooltip("lot:N", title="lot"),
        alt.Tooltip("label:N", title="value"),
        alt.Tooltip("at:T", title="received", format="%-d %b %Y"),
        alt.Tooltip("signal:N", title="signal"),
    ]
    layers = [
        # Unseen, it stretches every stream's axis over the time of all.
        base.mark_rule(opacity=0, aria=False).encode(x=alt.X("since:T"), x2=alt.X2("until:T")),
        base.mark_area(color=colour(MEASURED), opacity=0.15, aria=False).encode(
            x=x, y=alt.Y("lower:Q"), y2=alt.Y2("upper:Q")
        ),
        base.mark_line(color=colour(MEASURED), strokeWidth=1, opacity=0.65, aria=False).encode(
            x=x, y=alt.Y("center:Q")
        ),
        base.mark_point(size=34, filled=True, opacity=1, color=colour(MEASURED)).encode(
            x=x, y=y, tooltip=hover
        ),
        base.transform_filter("datum.signal")
        .mark_point(size=90, filled=False, stroke=colour(INK), strokeWidth=1.6, opacity=1)
        .encode(x=x, y=y, tooltip=hover),
    ]
    return layered(layers, columns=COLUMNS, height=_HEIGHT)
