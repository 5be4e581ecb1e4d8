"""The next lots of each supplier, and blends of them, against the window asked for."""

from typing import Any, Final

import altair as alt

from dashboard.frame.charts.axes import colour, expression, number_scale
from dashboard.frame.charts.spec import layered
from dashboard.frame.charts.titled_axis import titled_axis
from dashboard.frame.theme import ALLOWED, INK, MEASURED, QUIET

COLUMNS: Final = ("row", "name", "low", "middle", "high", "lower", "upper", "blend", "words")
_ROW: Final = 46
_AXIS: Final = 52
_TOP: Final = "scale('y', datum.row)"
_NAME: Final = f"{_TOP} + 0.28 * bandwidth('y')"
_LINE: Final = f"{_TOP} + 0.7 * bandwidth('y')"


def future_height(rows: int) -> int:
    """Pixels of the picture with that many rows, its axis included."""
    return _ROW * rows + _AXIS


def future_chart(*, unit: str) -> alt.LayerChart:
    """Chart of what is to be expected, on placeholder data; its height is set by `future_height`.

    Parameters
    ----------
    unit
        Of the characteristic.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`, one line each `row` from 0: `name`, the `low`, `middle` and `high`
        points, whether it is the `blend`, `words` for pointing at; `lower` and `upper` of the
        window, the same on every line.  Name above, line below, so that a telephone has room.
    """
    base = alt.Chart()
    layers = [*_window(base, unit), *_rows(base)]
    return layered(layers, columns=COLUMNS)


def _window(base: alt.Chart, unit: str) -> list[Any]:
    mine = base.transform_filter("datum.row == 0")
    edge: dict[str, Any] = {"color": colour(ALLOWED), "strokeDash": [5, 3], "aria": False}
    whole: dict[str, Any] = {"y": alt.value(0), "y2": alt.value(expression("height"))}
    return [
        mine.mark_rect(color=colour(ALLOWED), opacity=0.1, aria=False).encode(
            x=alt.X(
                "lower:Q",
                scale=number_scale(log=True, padding=12),
                axis=titled_axis(f"heat ({unit})", log=True),
            ),
            x2=alt.X2("upper:Q"),
            **whole,
        ),
        *(
            mine.mark_rule(**edge).encode(x=alt.X(f"{side}:Q"), **whole)
            for side in ("lower", "upper")
        ),
    ]


def _rows(base: alt.Chart) -> list[Any]:
    band = alt.Y("row:O", axis=None, scale=alt.Scale(paddingInner=0, paddingOuter=0))
    line = alt.value(expression(_LINE))
    return [
        base.mark_bar(opacity=0).encode(
            y=band,
            x=alt.value(0),
            x2=alt.value(expression("width")),
            description=alt.Description("words:N"),
            tooltip=[alt.Tooltip("name:N", title="what"), alt.Tooltip("words:N", title="expected")],
        ),
        base.mark_rule(
            color=expression(f"datum.blend ? ({MEASURED.expression}) : ({QUIET.expression})"),
            strokeWidth=expression("datum.blend ? 3 : 1.6"),
            aria=False,
        ).encode(x=alt.X("low:Q"), x2=alt.X2("high:Q"), y=line),
        base.mark_point(
            size=expression("datum.blend ? 90 : 50"),
            filled=True,
            opacity=1,
            color=expression(f"datum.blend ? ({MEASURED.expression}) : ({QUIET.expression})"),
            aria=False,
        ).encode(x=alt.X("middle:Q"), y=line),
        base.mark_text(
            align="left",
            baseline="middle",
            fontSize=12,
            fontWeight=expression("datum.blend ? 600 : 400"),
            color=colour(INK),
            aria=False,
        ).encode(x=alt.value(2), y=alt.value(expression(_NAME)), text=alt.Text("name:N")),
    ]
