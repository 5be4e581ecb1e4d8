"""Each laboratory of a comparison beside the others, against what chance seldom exceeds."""

from typing import Any, Final

import altair as alt

from dashboard.frame.charts.axes import colour, expression
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import ALLOWED, INK, LINE, MEASURED, QUIET

COLUMNS: Final = ("laboratory", "level", "value", "at_5", "at_1", "words", "beyond")
_HEIGHT: Final = 250


def consistency_chart(*, signed: bool) -> alt.LayerChart:
    """Chart of one statistic of every laboratory at every level, on placeholder data.

    Parameters
    ----------
    signed
        Whether it lies on both sides of zero, and the lines with it.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`, one row a laboratory and level: `value` of the statistic, the
        lines `at_5` and `at_1` that chance exceeds 5 and 1 times in 100, and `beyond`
        where the value lies past the first.
    """
    base = alt.Chart()
    x = alt.X(
        "laboratory:N",
        sort=None,
        axis=alt.Axis(
            title=None, labelColor=colour(INK), labelAngle=-50, labelLimit=110, labelOverlap=False
        ),
    )
    y = alt.Y(
        "value:Q",
        scale=alt.Scale(zero=True, nice=True),
        axis=alt.Axis(title=None, tickCount=4, labelColor=colour(QUIET), gridColor=colour(LINE)),
    )
    offset = alt.XOffset("level:N", sort=None)
    hover: list[Any] = [
        alt.Tooltip("laboratory:N", title="laboratory"),
        alt.Tooltip("level:N", title="sample"),
        alt.Tooltip("words:N", title="found"),
    ]
    lines = [
        _line(base, f"{sign}datum.{name}", dash, words, up=outer == (not sign))
        for sign in (("", "-") if signed else ("",))
        for name, dash, words, outer in (
            ("at_5", [3, 4], "5 %", False),
            ("at_1", [7, 4], "1 %", True),
        )
    ]
    layers = [
        base.transform_aggregate(cells="count()")
        .mark_rule(color=colour(QUIET), strokeWidth=1, aria=False)
        .encode(y=alt.datum(0)),
        *(layer for pair in lines for layer in pair),
        base.mark_rule(color=colour(MEASURED), strokeWidth=2.2, aria=False).encode(
            x=x, xOffset=offset, y=y, y2=alt.datum(0)
        ),
        base.mark_point(
            filled=True,
            opacity=1,
            size=expression("datum.beyond ? 70 : 34"),
            color=colour(MEASURED),
            stroke=expression(f"datum.beyond ? ({INK.expression}) : ({MEASURED.expression})"),
            strokeWidth=expression("datum.beyond ? 2 : 0"),
        ).encode(x=x, xOffset=offset, y=y, tooltip=hover),
    ]
    return layered(layers, columns=COLUMNS, height=_HEIGHT)


def _line(
    base: alt.Chart, where: str, dash: list[int], words: str, *, up: bool
) -> tuple[alt.Chart, alt.Chart]:
    """A line that chance seldom passes, and its words on the side that is free."""
    at = base.transform_aggregate(at_5="max(at_5)", at_1="max(at_1)").transform_calculate(
        line=where
    )
    return (
        at.mark_rule(color=colour(ALLOWED), strokeWidth=1.3, strokeDash=dash, aria=False).encode(
            y=alt.Y("line:Q")
        ),
        at.mark_text(
            align="right",
            baseline="bottom" if up else "top",
            dy=-3 if up else 4,
            fontSize=11,
            color=colour(QUIET),
            text=words,
            aria=False,
        ).encode(x=alt.value(expression("width")), y=alt.Y("line:Q")),
    )
