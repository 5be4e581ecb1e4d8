"""Where lots stand in a figure, and how they are named below it."""

from typing import Final

import altair as alt

from dashboard.frame.charts.axes import colour, expression
from dashboard.frame.theme import INK, QUIET

_LABEL_ROOM: Final = 84
_TEXT: Final = 12


def order(*, field: str = "order") -> alt.X:
    """Place of each lot in order of receipt; the labels below are layers of their own."""
    return alt.X(
        f"{field}:Q",
        scale=alt.Scale(zero=False, nice=False, padding=16),
        axis=alt.Axis(
            title="lots in order of receipt",
            titleColor=colour(QUIET),
            titleFontSize=12,
            titleFontWeight="normal",
            labels=False,
            ticks=False,
            grid=False,
            titlePadding=44,
        ),
    )


def lot_labels() -> list[alt.Chart]:
    """Lot number, which links to the lot, over its date; the newest lot is always named."""
    thinned = (
        alt.Chart()
        .transform_joinaggregate(first="min(order)", last="max(order)")
        .transform_calculate(gap=f"ceil((datum.last - datum.first + 1) * {_LABEL_ROOM} / width)")
        .transform_filter("(datum.last - datum.order) % max(1, datum.gap) === 0")
    )
    number = thinned.mark_text(
        fontSize=_TEXT, baseline="top", color=colour(INK), aria=False
    ).encode(
        x=order(),
        y=alt.value(expression("height + 10")),
        text=alt.Text("lot:N"),
        href=alt.Href("href:N"),
        # Without a tooltip of its own a layer beside a selection does not take clicks.
        tooltip=alt.Tooltip("lot:N", title="open"),
    )
    date = thinned.mark_text(
        fontSize=_TEXT - 1, baseline="top", color=colour(QUIET), aria=False
    ).encode(
        x=order(),
        y=alt.value(expression("height + 25")),
        text=alt.Text("at:T", format="%-d %b %Y"),
    )
    return [number, date]
