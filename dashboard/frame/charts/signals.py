"""Signals as words: said once, where a pattern begins, and tied to their lot by a thin leader."""

from typing import Final

import altair as alt

from dashboard.frame.charts.axes import colour, expression
from dashboard.frame.theme import INK

LANES: Final = 3
_LANE: Final = 16
_LETTER: Final = 6.3
# Words may run this far past the last lot before they meet the brackets.
_MARGIN: Final = 8
_X: Final = "scale('x', datum.order)"
_Y: Final = "scale('y', datum.value)"
_BELOW: Final = "(isValid(datum.center) && datum.value < datum.center)"


def headroom(*, log: bool, limits: bool) -> alt.Chart:
    """Unseen layer that keeps the scale from shrinking to a point, and lanes free for words.

    Parameters
    ----------
    log
        Whether the characteristic is judged in logs.
    limits
        Whether the usual band is drawn too, and so belongs to what the words must clear.

    Returns
    -------
    Chart
        To be given its channel x.
    """
    upper, lower = ("upper", "lower") if limits else ("value", "value")
    high = "max(datum.top, datum.top_whisker || datum.top, datum.top_band || datum.top)"
    low = "min(datum.foot, datum.foot_whisker || datum.foot, datum.foot_band || datum.foot)"
    stretch = "pow(datum.high / datum.low, 0.2)" if log else "(datum.high - datum.low) * 0.2"
    near = "max(abs(datum.value) * 0.03, 1e-9)"
    sign_up, sign_down = ("*", "/") if log else ("+", "-")
    layer: alt.Chart = (
        alt.Chart()
        .transform_calculate(
            up=f"datum.signal && !{_BELOW} ? 1 : 0", down=f"datum.signal && {_BELOW} ? 1 : 0"
        )
        .transform_joinaggregate(
            up="max(up)",
            down="max(down)",
            top="max(value)",
            top_whisker="max(whisker_high)",
            top_band=f"max({upper})",
            foot="min(value)",
            foot_whisker="min(whisker_low)",
            foot_band=f"min({lower})",
        )
        .transform_calculate(high=high, low=low)
        .transform_calculate(
            room_high=f"max(datum.value + {near}, datum.up ? datum.high {sign_up} {stretch} : 0)",
            room_low=f"min(datum.value - {near},"
            f" datum.down ? datum.low {sign_down} {stretch} : datum.value)",
        )
        .mark_rule(opacity=0, aria=False)
        .encode(y=alt.Y("room_low:Q"), y2=alt.Y2("room_high:Q"))
    )
    return layer


def signal_words() -> list[alt.Chart]:
    """Leaders and words, in lanes above and below the lots; crowded ones are left to the table."""
    length = f"length(datum.signal) * {_LETTER}"
    side = f"({_X} > {length} + 24 ? -1 : 1)"
    lane = f"{_LANE} * ((datum.turn - 1) % {LANES})"
    place = f"({_BELOW} ? height - 4 - {lane} : 4 + {lane})"
    newest: list[alt.SortField | dict[str, str]] = [alt.SortField("order", order="descending")]
    begun = (
        alt.Chart()
        .transform_window(before="lag(signal)", sort=[alt.SortField("order")])
        .transform_filter("datum.signal && datum.signal !== datum.before")
        .transform_calculate(below=_BELOW)
        .transform_window(
            turn="row_number()",
            sort=newest,
            groupby=["below"],
        )
        .transform_window(
            [alt.WindowFieldDef(op="lag", field="order", param=LANES, **{"as": "neighbour"})],
            sort=newest,
            groupby=["below"],
        )
        .transform_filter(
            f"!isValid(datum.neighbour) || scale('x', datum.neighbour) - {_X} > {length}"
        )
        .transform_filter(f"max({_X}, width + {_MARGIN} - {_X}) > {length} + 24")
    )
    leader = begun.mark_rule(color=colour(INK), strokeWidth=0.8, aria=False).encode(
        x=alt.value(expression(f"{_X} + {side} * 4")),
        x2=alt.value(expression(f"{_X} + {side} * 10")),
        y=alt.value(expression(f"{_Y} + ({_BELOW} ? 6 : -6)")),
        y2=alt.value(expression(place)),
    )
    x = alt.value(expression(f"{_X} + {side} * 13"))
    y = alt.value(expression(place))
    align = expression(f"{side} > 0 ? 'left' : 'right'")
    halo = begun.mark_text(
        align=align,
        baseline="middle",
        fontSize=12,
        stroke=expression("background"),
        strokeWidth=4,
        opacity=0.85,
        aria=False,
    )
    words = begun.mark_text(
        align=align, baseline="middle", fontSize=12, color=colour(INK), aria=False
    )
    return [
        leader,
        halo.encode(x=x, y=y, text=alt.Text("signal:N")),
        words.encode(x=x, y=y, text=alt.Text("signal:N")),
    ]
