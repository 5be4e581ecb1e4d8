"""What was predicted of blends against what was measured of them."""

from typing import Any, Final

import altair as alt

from dashboard.frame.charts.axes import colour, number_axis, number_scale
from dashboard.frame.charts.spec import layered
from dashboard.frame.charts.titled_axis import titled_axis
from dashboard.frame.theme import MEASURED, QUIET

COLUMNS: Final = (
    *("kind", "predicted", "measured", "low", "high", "told_low", "told_high", "name", "words"),
)
_HEIGHT: Final = 320


def outcome_chart(*, log: bool, unit: str) -> alt.LayerChart:
    """Chart of blends that were made, on placeholder data.

    Parameters
    ----------
    log
        Whether both axes are logarithmic.
    unit
        Of both.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`: of `kind` ``"blend"`` one line each, with intervals of both; of
        `kind` ``"same"`` the two ends of the line on which a blend came out as predicted.
    """
    base = alt.Chart()
    x = alt.X(
        "predicted:Q",
        scale=number_scale(log=log, padding=16),
        axis=titled_axis(f"predicted ({unit}), measured upwards", log=log),
    )
    y = alt.Y("measured:Q", scale=number_scale(log=log, padding=16), axis=number_axis("y", log=log))
    mine = base.transform_filter("datum.kind == 'blend'")
    hover = [alt.Tooltip("name:N", title="blend"), alt.Tooltip("words:N", title="heat")]
    whisker: dict[str, Any] = {"color": colour(MEASURED), "opacity": 0.6, "aria": False}
    layers = [
        base.transform_filter("datum.kind == 'same'")
        .mark_line(color=colour(QUIET), strokeDash=[4, 4], aria=False)
        .encode(x=x, y=y),
        mine.mark_rule(**whisker).encode(x=x, y=alt.Y("low:Q"), y2=alt.Y2("high:Q")),
        mine.mark_rule(**whisker).encode(y=y, x=alt.X("told_low:Q"), x2=alt.X2("told_high:Q")),
        mine.mark_point(size=60, filled=True, opacity=1, color=colour(MEASURED)).encode(
            x=x, y=y, tooltip=hover
        ),
    ]
    return layered(layers, columns=COLUMNS, height=_HEIGHT)
