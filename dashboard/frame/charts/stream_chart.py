"""The lots of one stream in order of receipt, against what is usual and what is allowed.

Lots stand at equal distances, not at their dates: deliveries crowd at harvest and thin out in
summer, and "nine on one side" can only be seen where every lot has the same room.  The dates stay
in the labels and the crop years above.
"""

from typing import Final

import altair as alt

from dashboard.frame.charts.axes import colour, expression, number_axis, number_scale
from dashboard.frame.charts.brackets import margin_brackets
from dashboard.frame.charts.lot_labels import lot_labels, order
from dashboard.frame.charts.signals import headroom, signal_words
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import INK, MEASURED, QUIET

COLUMNS: Final = (
    *("lot", "at", "order", "value", "whisker_low", "whisker_high"),
    *("center", "lower", "upper", "spec_lower", "spec_upper"),
    *("censored", "in_baseline", "signal", "chosen", "crop", "href", "label", "unit"),
)
PICK: Final = "pick"

_HEIGHT: Final = 340
# The spec is cached and meets every screen, so what depends on the room asks for it when drawn.
_POINT: Final = "width < 420 ? 36 : 52"
_TEXT: Final = 12
# The band reaches almost half way to the next lot, so that one lot alone has a band too.
_REACH: Final = 0.35
_X: Final = "scale('x', datum.order)"
_Y: Final = "scale('y', datum.value)"


def stream_chart(*, log: bool, limits: bool, brackets: tuple[str, ...]) -> alt.LayerChart:
    """Chart of one stream, on placeholder data.

    Parameters
    ----------
    log
        Whether the characteristic is judged in logs.
    limits
        Whether to draw what is usual for the supplier.
    brackets
        Which specification limits to draw: ``"lower"``, ``"upper"``, both or none.

    Returns
    -------
    LayerChart
        On a frame with one row a lot and `COLUMNS`: `value`, its whisker, `center`, `lower`,
        `upper` and the specification limits in `unit`, NaN where there is none; `order` counts
        from 1; `censored` is empty or says where the truth lies, ``"above"``, ``"below"`` or
        ``"between"`` the whisker's ends.  Clicking a lot selects it under `PICK`.
    """
    layers = [
        *(_usual() if limits else []),
        headroom(log=log, limits=limits).encode(x=order()),
        *_lots(log=log),
        *_censored(),
        *signal_words(),
        *_crops(),
        *lot_labels(),
        *margin_brackets(brackets),
        _unit(),
        _chosen(),
        _touch(),
    ]
    return layered(layers, columns=COLUMNS, height=_HEIGHT)


def _usual() -> list[alt.Chart]:
    edges = (
        alt.Chart()
        .transform_calculate(edge=f"[datum.order - {_REACH}, datum.order + {_REACH}]")
        .transform_flatten(["edge"])
    )
    x = order(field="edge")
    return [
        edges.mark_area(color=colour(MEASURED), opacity=0.15, aria=False).encode(
            x=x, y=alt.Y("lower:Q"), y2=alt.Y2("upper:Q")
        ),
        edges.mark_line(color=colour(MEASURED), strokeWidth=1, opacity=0.65, aria=False).encode(
            x=x, y=alt.Y("center:Q")
        ),
    ]


def _lots(*, log: bool) -> list[alt.Chart]:
    y = alt.Y(
        "value:Q",
        scale=number_scale(log=log, padding=14),
        axis=number_axis("y", log=log, gridOpacity=0.8),
    )
    return [
        alt.Chart()
        .transform_filter("isValid(datum.whisker_low) && isValid(datum.whisker_high)")
        .mark_rule(color=colour(MEASURED), strokeWidth=1.3, opacity=0.75, aria=False)
        .encode(x=order(), y=alt.Y("whisker_low:Q"), y2=alt.Y2("whisker_high:Q")),
        alt.Chart()
        .mark_line(color=colour(MEASURED), strokeWidth=1, opacity=0.4, aria=False)
        .encode(x=order(), y=y),
        alt.Chart()
        .transform_filter("!datum.censored")
        .mark_point(
            size=expression(_POINT),
            opacity=1,
            strokeWidth=expression("datum.signal ? 1.9 : 1.6"),
            stroke=expression(f"datum.signal ? ({INK.expression}) : ({MEASURED.expression})"),
            fill=expression(f"datum.in_baseline ? background : ({MEASURED.expression})"),
            aria=False,
        )
        .encode(x=order(), y=y),
    ]


def _censored() -> list[alt.Chart]:
    """A bar where the scale ended, and an arrow from it the way the truth lies."""
    outside = alt.Chart().transform_filter(
        "datum.censored === 'above' || datum.censored === 'below'"
    )
    way = "(datum.censored === 'above' ? -1 : 1)"
    bar = (
        alt.Chart()
        .transform_filter("datum.censored !== '' && isValid(datum.censored)")
        .mark_tick(
            orient="horizontal",
            color=colour(MEASURED),
            size=13,
            thickness=2.4,
            opacity=1,
            aria=False,
        )
        .encode(x=order(), y=alt.Y("value:Q"))
    )
    stem = outside.mark_rule(color=colour(MEASURED), strokeWidth=1.8, aria=False).encode(
        x=order(),
        y=alt.value(expression(_Y)),
        y2=alt.value(expression(f"{_Y} + {way} * 12")),
    )
    head = outside.mark_point(
        shape=expression("datum.censored === 'above' ? 'triangle-up' : 'triangle-down'"),
        size=70,
        filled=True,
        color=colour(MEASURED),
        opacity=1,
        aria=False,
    ).encode(x=order(), y=alt.value(expression(f"{_Y} + {way} * 15")))
    return [bar, stem, head]


def _crops() -> list[alt.Chart]:
    """A short tick above the first lot of each harvest year, named where there is room."""
    begun = (
        alt.Chart()
        .transform_window(earlier="lag(crop)", sort=[alt.SortField("order")])
        .transform_filter("datum.crop && datum.crop !== datum.earlier")
        .transform_window(next="lead(order)", sort=[alt.SortField("order")])
    )
    x = f"{_X} - 7"
    room = f"(isValid(datum.next) ? scale('x', datum.next) : width + 60) - ({_X})"
    return [
        begun.mark_rule(color=colour(QUIET), strokeWidth=1, aria=False).encode(
            x=alt.value(expression(x)), y=alt.value(-16), y2=alt.value(0)
        ),
        begun.transform_filter(f"{room} > 62")
        .mark_text(align="left", baseline="top", fontSize=_TEXT, color=colour(QUIET), aria=False)
        .encode(x=alt.value(expression(f"{x} + 5")), y=alt.value(-17), text=alt.Text("crop:N")),
    ]


def _unit() -> alt.Chart:
    unit: alt.Chart = (
        alt.Chart()
        .transform_aggregate(unit="max(unit)")
        .mark_text(align="right", baseline="top", fontSize=_TEXT, color=colour(INK), aria=False)
        .encode(x=alt.value(-8), y=alt.value(-17), text=alt.Text("unit:N"))
    )
    return unit


def _chosen() -> alt.Chart:
    ring: alt.Chart = (
        alt.Chart()
        .transform_filter("datum.chosen")
        .mark_point(
            size=260, filled=False, stroke=colour(INK), strokeWidth=2, opacity=1, aria=False
        )
        .encode(x=order(), y=alt.Y("value:Q"))
    )
    return ring


def _touch() -> alt.Chart:
    """What is clicked, pointed at and read aloud: one large unseen disc a lot."""
    discs: alt.Chart = (
        alt.Chart()
        .mark_point(size=380, filled=True, opacity=0, cursor="pointer")
        .encode(
            x=order(),
            y=alt.Y("value:Q"),
            description=alt.Description("label:N"),
            tooltip=[
                alt.Tooltip("lot:N", title="lot"),
                alt.Tooltip("label:N", title="value"),
                alt.Tooltip("at:T", title="received", format="%-d %b %Y"),
                alt.Tooltip("crop:N", title="harvest"),
                alt.Tooltip("signal:N", title="signal"),
            ],
        )
        .add_params(alt.selection_point(name=PICK, fields=["lot"]))
        .properties(name="lots")
    )
    return discs
