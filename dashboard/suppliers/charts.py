"""Suppliers under each other, one row each: what is found of them, how sure, and from how much.

Name and count stand above the interval and not beside it, so that a telephone has room for both.
"""

from typing import Any, Final, Literal

import altair as alt

from dashboard.frame.charts.axes import colour, expression, grouped, number_axis, number_scale
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import INK, LINE, MEASURED, QUIET, Hue

COLUMNS: Final = (
    *("supplier", "row", "kind", "value", "low", "high", "cut_low", "cut_high"),
    *("outer_low", "outer_high", "second", "words", "label", "told", "weak"),
)
# How the values are written on the axis: as they are, on a log axis, as shares in per cent; and
# differences from none in their unit, or changes in per cent.
RowScale = Literal["number", "log", "share", "difference", "change"]

# The page fits the axis into the height it is given.
_ROW: Final = 54
_AXIS: Final = 48
_TEXT: Final = 13
_TOP: Final = "scale('y', datum.row)"
_NAME: Final = f"{_TOP} + 0.3 * bandwidth('y')"
_LINE: Final = f"{_TOP} + 0.68 * bandwidth('y')"


def supplier_rows_chart(*, scale: RowScale, title: str) -> alt.LayerChart:
    """Chart of all suppliers in one respect, on placeholder data.

    Parameters
    ----------
    scale
        How the axis runs; `difference` and `change` draw where there is none.
    title
        Of the axis: what is shown, with its unit.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`, its height to be set by `rows_height`: of `kind` ``"supplier"``
        one line each, `row` counting from 0, with `value`, its interval, `outer` ends, and a
        `second` value beside it; `cut_low` and `cut_high` say where an interval goes on beyond
        the picture, `told` that the words above the picture speak of it, `weak` that it rests on
        few lots.  Of `kind` ``"lot"`` a `value` alone.  Shares are in per cent.
    """
    layers = [
        *_touch(),
        *(_none() if scale in ("difference", "change") else []),
        *_interval(scale, title),
        *_cuts(),
        *_points(),
        *_words(),
    ]
    return layered(layers, columns=COLUMNS, height=rows_height(1))


def rows_height(suppliers: int) -> int:
    """Height of the chart, its axis included, for so many suppliers."""
    return _ROW * suppliers + _AXIS


def _suppliers() -> alt.Chart:
    return alt.Chart().transform_filter("datum.kind === 'supplier'")


def _touch() -> list[alt.Chart]:
    """What is pointed at and read aloud: the whole row; and thin lines between rows."""
    y = alt.Y("row:O", axis=None, scale=alt.Scale(paddingInner=0, paddingOuter=0))
    return [
        _suppliers()
        .mark_bar(opacity=0)
        .encode(
            y=y,
            x=alt.value(0),
            x2=alt.value(expression("width")),
            description=alt.Description("label:N"),
            tooltip=[
                alt.Tooltip("supplier:N", title="supplier"),
                alt.Tooltip("label:N", title="found"),
            ],
        ),
        _suppliers()
        .transform_filter("datum.row > 0")
        .mark_rule(color=colour(LINE), strokeWidth=1, aria=False)
        .encode(
            x=alt.value(0),
            x2=alt.value(expression("width")),
            y=alt.value(expression(_TOP)),
        ),
    ]


def _none() -> list[alt.Chart]:
    return [
        alt.Chart()
        .transform_aggregate(rows="count()")
        .mark_rule(color=colour(QUIET), strokeWidth=1, aria=False)
        .encode(x=alt.XDatum(0))
    ]


def _interval(scale: RowScale, title: str) -> list[alt.Chart]:
    x = alt.X("low:Q", scale=_scale(scale), axis=_axis(scale, title))
    y = alt.value(expression(_LINE))
    return [
        _suppliers()
        .transform_filter("isValid(datum.outer_low) && isValid(datum.outer_high)")
        .mark_rule(color=colour(MEASURED), strokeWidth=1.2, opacity=0.7, aria=False)
        .encode(x=alt.X("outer_low:Q"), x2=alt.X2("outer_high:Q"), y=y),
        _suppliers()
        .transform_filter("isValid(datum.low) && isValid(datum.high)")
        .mark_rule(color=colour(MEASURED), strokeWidth=5, opacity=0.4, aria=False)
        .encode(x=x, x2=alt.X2("high:Q"), y=y),
    ]


def _cuts() -> list[alt.Chart]:
    return [
        _suppliers()
        .transform_filter(f"datum.cut_{side}")
        .mark_point(
            shape=shape, size=60, filled=True, opacity=1, color=colour(MEASURED), aria=False
        )
        .encode(x=alt.X(f"{side}:Q"), y=alt.value(expression(_LINE)))
        for side, shape in (("low", "triangle-left"), ("high", "triangle-right"))
    ]


def _points() -> list[alt.Chart]:
    y = alt.value(expression(_LINE))
    return [
        alt.Chart()
        .transform_filter("datum.kind === 'lot'")
        .mark_point(
            size=26, strokeWidth=1.2, opacity=0.8, stroke=colour(MEASURED), fill="transparent"
        )
        .encode(x=alt.X("value:Q"), y=y, tooltip=[alt.Tooltip("label:N", title="lot")]),
        _suppliers()
        .transform_filter("isValid(datum.second)")
        .mark_point(
            shape="diamond",
            size=56,
            strokeWidth=1.6,
            opacity=1,
            stroke=colour(MEASURED),
            fill=expression("background"),
            aria=False,
        )
        .encode(x=alt.X("second:Q"), y=y),
        _suppliers()
        .transform_filter("isValid(datum.value)")
        .mark_point(
            size=64,
            opacity=1,
            strokeWidth=expression("datum.told ? 2.2 : 1.6"),
            stroke=expression(f"datum.told ? ({INK.expression}) : ({MEASURED.expression})"),
            fill=expression(f"datum.weak ? background : ({MEASURED.expression})"),
            aria=False,
        )
        .encode(x=alt.X("value:Q"), y=y),
    ]


def _words() -> list[alt.Chart]:
    """Name and count, both clear of the lines that cross them."""
    name: dict[str, Any] = {
        "align": "left",
        "fontSize": _TEXT,
        "fontWeight": expression("datum.told ? 600 : 400"),
    }
    number: dict[str, Any] = {"align": "right", "fontSize": _TEXT - 1}
    return [
        *_clear("supplier", x=expression("0"), hue=INK, mark=name),
        *_clear("words", x=expression("width"), hue=QUIET, mark=number),
    ]


def _clear(field: str, *, x: alt.ExprRef, hue: Hue, mark: dict[str, Any]) -> list[alt.Chart]:
    halo: dict[str, Any] = {"stroke": expression("background"), "strokeWidth": 4, "opacity": 0.85}
    return [
        _suppliers()
        .mark_text(baseline="middle", aria=False, **mark, **drawn)
        .encode(x=alt.value(x), y=alt.value(expression(_NAME)), text=alt.Text(f"{field}:N"))
        for drawn in (halo, {"color": colour(hue)})
    ]


def _scale(scale: RowScale) -> alt.Scale:
    if scale == "share":
        return alt.Scale(type="linear", zero=True, nice=False, padding=8)
    return number_scale(log=scale == "log", padding=12)


def _axis(scale: RowScale, title: str) -> alt.Axis:
    axis = number_axis("x", log=scale == "log", gridOpacity=0.6, labelOverlap=True)
    axis["title"] = title
    axis["titleColor"] = colour(QUIET)
    axis["titleFontSize"] = 12
    axis["titleFontWeight"] = "normal"
    if scale in ("number", "log"):
        return axis
    sign = "''" if scale == "share" else "(datum.value > 0 ? '+' : datum.value < 0 ? '−' : '')"
    unit = "''" if scale == "difference" else "' %'"
    axis["labelExpr"] = f"{sign} + {grouped('abs(datum.value)')} + {unit}"
    return axis
