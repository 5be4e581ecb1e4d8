"""Running sums of what lies above and below the centre, against the decision they call for."""

from typing import Final

import altair as alt

from dashboard.frame.charts.axes import colour
from dashboard.frame.charts.lot_labels import lot_labels, order
from dashboard.frame.charts.spec import layered
from dashboard.frame.theme import ALLOWED, INK, MEASURED, QUIET

COLUMNS: Final = ("lot", "at", "order", "href", "above", "below", "decision", "signal")
_HEIGHT: Final = 300


def running_sums_chart() -> alt.LayerChart:
    """Chart of two running sums, on placeholder data.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`, all in sigmas: `above` rises and `below` falls while lots stay on
        one side; beyond `decision` either way the supplier has moved.
    """
    # Layers carry no data of their own, so that the page can feed the whole by name.
    base = alt.Chart()
    x = order()
    hover = [alt.Tooltip("lot:N", title="lot"), alt.Tooltip("at:T", title="received")]
    layers = [
        *lot_labels(),
        *(_sum(base, x, side, hover) for side in ("above", "below")),
        *(_decision(base, sign) for sign in ("", "-")),
        base.transform_filter("datum.signal")
        .transform_calculate(
            at_sum="abs(datum.above) > abs(datum.below) ? datum.above : datum.below"
        )
        .mark_point(size=52, fill="transparent", stroke=colour(INK), strokeWidth=1.9, opacity=1)
        .encode(x=x, y=alt.Y("at_sum:Q"), tooltip=hover),
    ]
    return layered(layers, columns=COLUMNS, height=_HEIGHT)


def _sum(base: alt.Chart, x: alt.X, side: str, hover: list[alt.Tooltip]) -> alt.Chart:
    drawn: alt.Chart = base.mark_line(
        color=colour(MEASURED), strokeWidth=2, point={"size": 30, "color": colour(MEASURED)}
    ).encode(
        x=x,
        y=alt.Y(
            f"{side}:Q", title="running sum, in sigmas", axis=alt.Axis(titleColor=colour(QUIET))
        ),
        tooltip=[*hover, alt.Tooltip(f"{side}:Q", title=f"sum {side}", format=".1f")],
    )
    return drawn


def _decision(base: alt.Chart, sign: str) -> alt.Chart:
    line: alt.Chart = (
        base.transform_aggregate(decision="max(decision)")
        .transform_calculate(line=f"{sign}datum.decision")
        .mark_rule(color=colour(ALLOWED), strokeDash=[6, 4], strokeWidth=1.4)
        .encode(y=alt.Y("line:Q"))
    )
    return line
