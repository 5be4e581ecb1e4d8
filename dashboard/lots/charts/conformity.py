"""Where one lot's mean may truly lie, and how much of that the specification allows."""

from typing import Final

import altair as alt

from dashboard.frame.charts.axes import colour, expression, number_axis, number_scale
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import ALLOWED, INK, MEASURED
from dashboard.lots.charts.plausible_values import COLUMNS, ROWS

_HEIGHT: Final = 104
_STRIPE: Final = 5
_HOOK: Final = 6
_ROOM: Final = 96
_TOP: Final = 40


def conformity_chart(*, log: bool, lower: bool, upper: bool) -> alt.LayerChart:
    """Chart of one lot mean against its limits, on placeholder data.

    Parameters
    ----------
    log
        Whether the characteristic is judged in logs.
    lower, upper
        Which limits there are.

    Returns
    -------
    LayerChart
        On the frame of `conformity_frame`.  What lies inside is filled, what lies outside is
        hatched; a limit far from the hill is an arrow at the edge with its number.
    """
    limits = [side for side, given in (("lower", lower), ("upper", upper)) if given]
    layers = [
        *_hill(log=log),
        *(layer for side in limits for layer in _limit(side)),
        _value(),
        _words(),
    ]
    return layered(layers, columns=COLUMNS, height=_HEIGHT)


def _x(*, log: bool) -> alt.X:
    return alt.X(
        "x:Q",
        scale=number_scale(log=log, padding=0),
        axis=number_axis("x", log=log, grid=False, labelOverlap=True),
    )


def _hill(*, log: bool) -> list[alt.Chart]:
    """Filled inside, hatched outside; cut into one run of rows a part so that no part bridges."""
    x = _x(log=log)
    y = alt.Y(
        "density:Q", axis=None, scale=alt.Scale(domain=[0, 1], range=[alt.ExprRef("height"), _TOP])
    )
    inside = (
        alt.Chart()
        .transform_filter("datum.part === 'inside'")
        .mark_area(color=colour(MEASURED), opacity=0.5, aria=False)
        .encode(x=x, y=y)
    )
    hatch = (
        alt.Chart()
        .transform_filter("datum.part === 'outside' && datum.density > 0.004")
        .transform_window(row="row_number()", sort=[alt.SortField("x")])
        .transform_filter(f"datum.row % ceil({_STRIPE * ROWS} / width) === 0")
        .mark_rule(color=colour(MEASURED), strokeWidth=1, opacity=0.9, aria=False)
        .encode(
            x=alt.value(expression("scale('x', datum.x)")),
            y=alt.value(expression("scale('y', datum.density)")),
            y2=alt.value(expression("height")),
        )
    )
    outline = (
        alt.Chart()
        .mark_line(color=colour(MEASURED), strokeWidth=1.4, opacity=1, aria=False)
        .encode(x=x, y=y)
    )
    return [inside, hatch, outline]


def _once() -> alt.Chart:
    """One row for what every row repeats; the same in all layers, which are merged when drawn."""
    return alt.Chart().transform_aggregate(
        value="max(value)",
        value_text="max(value_text)",
        lower="max(lower)",
        lower_text="max(lower_text)",
        upper="max(upper)",
        upper_text="max(upper_text)",
        text="max(text)",
    )


def _limit(side: str) -> list[alt.Chart]:
    inward = 1 if side == "lower" else -1
    at = f"scale('x', datum.{side})"
    # Outward of the bracket, where the other limit's words are not, as long as there is room.
    outward = (
        f"{at} < {_ROOM} ? 'left' : 'right'"
        if side == "lower"
        else f"{at} > width - {_ROOM} ? 'right' : 'left'"
    )
    here = f"{at} >= 0 && {at} <= width"
    spine = _once().transform_filter(here)
    hooks = [
        spine.mark_rule(color=colour(ALLOWED), strokeWidth=2, aria=False).encode(
            x=alt.value(expression(at)),
            x2=alt.value(expression(f"{at} + {inward * _HOOK}")),
            y=alt.value(height),
        )
        for height in (expression("34"), expression("height"))
    ]
    line = spine.mark_rule(color=colour(ALLOWED), strokeWidth=2, aria=False).encode(
        x=alt.value(expression(at)), y=alt.value(33), y2=alt.value(expression("height + 1"))
    )
    arrow = (
        _once()
        .transform_filter(f"!({here})")
        .mark_point(
            shape=expression(f"{at} < 0 ? 'triangle-left' : 'triangle-right'"),
            size=80,
            filled=True,
            opacity=1,
            color=colour(ALLOWED),
            aria=False,
        )
        .encode(x=alt.value(expression(f"{at} < 0 ? 5 : width - 5")), y=alt.value(25))
    )
    words = (
        _once()
        .mark_text(
            align=expression(f"{at} < 0 ? 'left' : {at} > width ? 'right' : {outward}"),
            baseline="middle",
            fontSize=12,
            color=colour(INK),
        )
        .encode(
            x=alt.value(expression(f"{at} < 0 ? 14 : {at} > width ? width - 14 : {at}")),
            y=alt.value(25),
            text=alt.Text(f"{side}_text:N"),
        )
    )
    return [line, *hooks, arrow, words]


def _value() -> alt.Chart:
    dot: alt.Chart = (
        _once()
        .mark_point(
            size=52,
            opacity=1,
            strokeWidth=1.6,
            stroke=expression("background"),
            fill=colour(MEASURED),
            aria=False,
        )
        .encode(
            x=alt.value(expression("scale('x', datum.value)")), y=alt.value(expression("height"))
        )
    )
    return dot


def _words() -> alt.Chart:
    line: alt.Chart = (
        _once()
        .transform_calculate(words="datum.value_text + (datum.text ? ', ' + datum.text : '')")
        .mark_text(
            align="left",
            baseline="top",
            fontSize=13,
            limit=expression("width"),
            color=colour(INK),
        )
        .encode(x=alt.value(0), y=alt.value(0), text=alt.Text("words:N"))
    )
    return line
