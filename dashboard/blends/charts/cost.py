"""What a kilogram costs against what is asked: odds, or a level of heat."""

from typing import Final

import altair as alt

from dashboard.frame.charts.axes import colour, number_axis, number_scale
from dashboard.frame.charts.spec import layered
from dashboard.frame.charts.titled_axis import titled_axis
from dashboard.frame.theme import INK, MEASURED

COLUMNS: Final = ("asked", "cost", "words", "chosen")
_HEIGHT: Final = 220


def cost_chart(*, title: str, log: bool) -> alt.LayerChart:
    """Chart of cost against what is asked, on placeholder data.

    Parameters
    ----------
    title
        Of the axis of what is asked, with its unit.
    log
        Whether that axis is logarithmic.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`, one line each asked, in rising order; `cost` empty where there is
        no recipe, so that the line breaks; `chosen` marks the one on the screen.
    """
    base = alt.Chart()
    x = alt.X(
        "asked:Q",
        scale=number_scale(log=log, padding=10),
        axis=titled_axis(title, log=log),
    )
    y = alt.Y("cost:Q", scale=number_scale(log=False, padding=14), axis=number_axis("y", log=False))
    hover = [alt.Tooltip("words:N", title="recipe")]
    layers = [
        base.mark_line(color=colour(MEASURED), strokeWidth=1.6, aria=False).encode(x=x, y=y),
        base.transform_filter("isValid(datum.cost)")
        .mark_point(size=46, filled=True, opacity=1, color=colour(MEASURED))
        .encode(x=x, y=y, tooltip=hover),
        base.transform_filter("datum.chosen")
        .mark_point(size=130, filled=False, stroke=colour(INK), strokeWidth=1.6, opacity=1)
        .encode(x=x, y=y, tooltip=hover),
    ]
    return layered(layers, columns=COLUMNS, height=_HEIGHT)
