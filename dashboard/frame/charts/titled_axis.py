"""A number axis that says below it what it shows, with its unit."""

import altair as alt

from dashboard.frame.charts.axes import colour, number_axis
from dashboard.frame.theme import QUIET


def titled_axis(title: str, *, log: bool) -> alt.Axis:
    """Axis along the foot of a figure, without a grid.

    Parameters
    ----------
    title
        What is shown, with its unit.
    log
        Whether the scale is logarithmic.
    """
    axis = number_axis("x", log=log, grid=False)
    axis["title"] = title
    axis["titleColor"] = colour(QUIET)
    axis["titleFontSize"] = 12
    axis["titleFontWeight"] = "normal"
    return axis
