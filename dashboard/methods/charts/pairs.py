"""Lots measured by two methods: one against the other, or their difference against the level."""

from typing import Any, Final

import altair as alt

from dashboard.frame.charts.axes import colour, number_axis, number_scale
from dashboard.frame.charts.share_axis import share_axis
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import INK, MEASURED, QUIET

COLUMNS: Final = ("part", "lot", "x", "y", "lower", "upper", "label", "at")
_HEIGHT: Final = 320


def line_chart(*, log: bool) -> alt.LayerChart:
    """Chart of one method against the other with the line between them, on placeholder data.

    Parameters
    ----------
    log
        Whether the axes are logarithmic.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS` in the unit of the lots: rows of part ``"lot"``, one a lot, of
        ``"fit"`` along the line found, and of ``"same"`` along the line on which both methods
        read the same.
    """
    base = alt.Chart()
    x = alt.X("x:Q", scale=number_scale(log=log, padding=14), axis=number_axis("x", log=log))
    y = alt.Y("y:Q", scale=number_scale(log=log, padding=14), axis=number_axis("y", log=log))
    layers = [
        _of(base, "same")
        .mark_line(color=colour(QUIET), strokeWidth=1, strokeDash=[4, 4], aria=False)
        .encode(x=x, y=y),
        _of(base, "fit").mark_line(color=colour(INK), strokeWidth=1.6, aria=False).encode(x=x, y=y),
        _lots(base, x, y),
        _end(base, "fit", "line found", INK.expression).encode(x=x, y=y),
    ]
    return _layered(layers)


def differences_chart(*, log: bool) -> alt.LayerChart:
    """Chart of the difference of two methods against their level, on placeholder data.

    Parameters
    ----------
    log
        Whether differences are shares and the level is on a log axis.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`: rows of part ``"lot"``; of ``"bias"`` at both ends of the level
        with its interval in `lower` and `upper`; of ``"limit"``, two at each end, where 95 of 100
        lots lie between.
    """
    base = alt.Chart()
    x = alt.X("x:Q", scale=number_scale(log=log, padding=14), axis=number_axis("x", log=log))
    y = alt.Y(
        "y:Q",
        scale=alt.Scale(zero=True, padding=12),
        axis=share_axis(signed=True, tickCount=6) if log else number_axis("y", log=False),
    )
    limit = _of(base, "limit").mark_line(
        color=colour(MEASURED), strokeWidth=1.2, strokeDash=[6, 4], aria=False
    )
    layers = [
        base.transform_aggregate(lots="count()")
        .mark_rule(color=colour(QUIET), strokeWidth=1, aria=False)
        .encode(y=alt.datum(0)),
        _of(base, "bias")
        .mark_area(color=colour(MEASURED), opacity=0.18, aria=False)
        .encode(x=x, y=alt.Y("lower:Q"), y2=alt.Y2("upper:Q")),
        _of(base, "bias")
        .mark_line(color=colour(INK), strokeWidth=1.6, aria=False)
        .encode(x=x, y=y),
        limit.encode(x=x, y=y, detail=alt.Detail("label:N")),
        _lots(base, x, y),
        _words(base, "bias").encode(x=x, y=y, text=alt.Text("label:N")),
        _words(base, "limit").encode(x=x, y=y, text=alt.Text("label:N")),
    ]
    return _layered(layers)


def _of(base: alt.Chart, part: str) -> alt.Chart:
    chosen: alt.Chart = base.transform_filter(f"datum.part === '{part}'")
    return chosen


def _lots(base: alt.Chart, x: alt.X, y: alt.Y) -> alt.Chart:
    hover: list[Any] = [
        alt.Tooltip("lot:N", title="lot"),
        alt.Tooltip("label:N", title="read"),
        alt.Tooltip("at:T", title="received", format="%-d %b %Y"),
    ]
    drawn: alt.Chart = (
        _of(base, "lot")
        .mark_point(size=42, filled=True, opacity=0.75, color=colour(MEASURED))
        .encode(x=x, y=y, tooltip=hover)
    )
    return drawn


def _end(base: alt.Chart, part: str, text: str, ink: str) -> alt.Chart:
    last: alt.Chart = (
        _of(base, part)
        .transform_joinaggregate(last="max(x)")
        .transform_filter("datum.x === datum.last")
        .mark_text(
            align="right", dx=-8, dy=-10, fontSize=12, color=alt.ExprRef(ink), text=text, aria=False
        )
    )
    return last


def _words(base: alt.Chart, part: str) -> alt.Chart:
    """What a line is, written above its right end."""
    last: alt.Chart = (
        _of(base, part)
        .transform_joinaggregate(last="max(x)")
        .transform_filter("datum.x === datum.last")
        .mark_text(align="right", dy=-8, fontSize=12, color=colour(INK), aria=False)
    )
    return last


def _layered(layers: list[alt.Chart]) -> alt.LayerChart:
    return layered(layers, columns=COLUMNS, height=_HEIGHT)
