"""What each sensor batch read of a control sample, over time, against the assigned value."""

from typing import Any, Final

import altair as alt

from dashboard.frame.charts.axes import colour, number_axis
from dashboard.frame.charts.share_axis import share_axis
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import INK, MEASURED, QUIET

COLUMNS: Final = (
    *("batch", "at", "since", "until", "lowest", "highest"),
    *("deviation", "low", "high", "readings", "off", "words"),
)
_HEIGHT: Final = 170


def batches_chart(*, share: bool) -> alt.LayerChart:
    """Chart of one control sample on one instrument, on placeholder data.

    Parameters
    ----------
    share
        Whether deviations are shares of the assigned value, else in its unit.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`, one row a batch: `deviation` from the assigned value with its
        interval; `off` where it is more than chance explains, and then `words` stand beside it.
        `since`, `until`, `lowest` and `highest` are the same for every instrument shown, so that
        one can be held against the other.
    """
    base = alt.Chart()
    axis = share_axis(signed=True) if share else number_axis("y", log=False)
    x = alt.X("at:T", axis=alt.Axis(title=None, format="%b %Y", labelColor=colour(QUIET)))
    y = alt.Y("deviation:Q", scale=alt.Scale(zero=True, padding=12), axis=axis)
    hover: list[Any] = [
        alt.Tooltip("batch:N", title="sensor batch"),
        alt.Tooltip("words:N", title="read"),
        alt.Tooltip("at:T", title="first used", format="%-d %b %Y"),
        alt.Tooltip("readings:Q", title="readings"),
    ]
    off = base.transform_filter("datum.off")
    layers = [
        # Unseen, they stretch every instrument's axes over what all need.
        base.mark_rule(opacity=0, aria=False).encode(x=alt.X("since:T"), x2=alt.X2("until:T")),
        base.mark_rule(opacity=0, aria=False).encode(y=alt.Y("lowest:Q"), y2=alt.Y2("highest:Q")),
        base.transform_aggregate(lots="count()")
        .mark_rule(color=colour(INK), strokeWidth=1, aria=False)
        .encode(y=alt.datum(0)),
        base.mark_rule(color=colour(MEASURED), strokeWidth=1.4, opacity=0.75, aria=False).encode(
            x=x, y=alt.Y("low:Q"), y2=alt.Y2("high:Q")
        ),
        base.mark_point(size=44, filled=True, opacity=1, color=colour(MEASURED)).encode(
            x=x, y=y, tooltip=hover
        ),
        off.mark_point(
            size=130, filled=False, stroke=colour(INK), strokeWidth=1.8, opacity=1
        ).encode(x=x, y=y, tooltip=hover),
        off.mark_text(align="right", dx=-12, fontSize=12, color=colour(INK), aria=False).encode(
            x=x, y=y, text=alt.Text("batch:N")
        ),
    ]
    return layered(layers, columns=COLUMNS, height=_HEIGHT)
