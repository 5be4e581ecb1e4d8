"""How likely a sampling plan is to accept a lot, the worse the lot is."""

from typing import Final

import altair as alt

from dashboard.frame.charts.axes import colour
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import ALLOWED, INK, MEASURED, QUIET

COLUMNS: Final = ("x", "chance", "point")
_HEIGHT: Final = 220


def acceptance_curve_chart(*, title: str) -> alt.LayerChart:
    """Chart of one plan, on placeholder data.

    Parameters
    ----------
    title
        What the lot is worse by, with its unit.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`: `x` as titled, `chance` of acceptance, and `point`, empty but for
        the two lots that the plan was made for, which are named.
    """
    base = alt.Chart()
    x = alt.X("x:Q", axis=alt.Axis(title=title, titleColor=colour(QUIET), tickCount=6))
    y = alt.Y(
        "chance:Q",
        scale=alt.Scale(domain=[0, 1]),
        axis=alt.Axis(title="chance of acceptance", format=".0%", titleColor=colour(QUIET)),
    )
    named = base.transform_filter("datum.point")
    layers = [
        base.mark_line(color=colour(MEASURED), strokeWidth=2).encode(x=x, y=y),
        named.mark_point(
            size=70, filled=True, color=colour(ALLOWED), stroke=colour(INK), opacity=1
        ).encode(x=x, y=y),
        # The words stand where the curve is not: right of the bad lot, left of the good one.
        named.transform_filter("datum.chance < 0.5")
        .mark_text(align="left", dx=9, dy=-7, fontSize=12, color=colour(INK))
        .encode(x=x, y=y, text=alt.Text("point:N")),
        named.transform_filter("datum.chance >= 0.5")
        .mark_text(align="right", dx=-9, dy=-7, fontSize=12, color=colour(INK))
        .encode(x=x, y=y, text=alt.Text("point:N")),
    ]
    return layered(layers, columns=COLUMNS, height=_HEIGHT)
