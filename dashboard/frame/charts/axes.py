"""Number axes: plain figures in groups of three, and steps of one, two and five."""

from typing import Any, Final, Literal

import altair as alt

from dashboard.frame.theme import LINE, QUIET, Hue
from spc.digits import THIN

Channel = Literal["x", "y"]

_DECADES: Final = range(-6, 10)
_FEWEST_STEPS: Final = 4
# Below this ratio of the ends, steps of 1, 2 and 5 would leave an axis with one or two numbers.
_SHORT_LOG_AXIS: Final = 6


def expression(text: str) -> alt.ExprRef:
    """A Vega expression, as a value of a mark's property or channel."""
    return alt.ExprRef(" ".join(text.split()))


def colour(hue: Hue) -> alt.ExprRef:
    """A meaning's colour, for the paper the chart is drawn on."""
    return alt.ExprRef(hue.expression)


def grouped(number: str) -> str:
    """Expression that writes a number in full, its digits in groups of three."""
    return f"join(split(format({number}, ',.9~r'), ','), '{THIN}')"


def number_axis(channel: Channel, *, log: bool, **options: Any) -> alt.Axis:
    """Axis of a measured value.

    Parameters
    ----------
    channel
        Which way it runs.
    log
        Whether the scale is logarithmic: then steps of 1, 2 and 5, as far as there is room.
    options
        Passed on to the axis.
    """
    steps = {"values": expression(_log_steps(channel))} if log else {"tickCount": 5}
    return alt.Axis(
        title=None,
        labelExpr=grouped("datum.value"),
        labelColor=colour(QUIET),
        labelFontSize=12,
        labelPadding=6,
        gridColor=colour(LINE),
        **steps,
        **options,
    )


def number_scale(*, log: bool, padding: int) -> alt.Scale:
    """Scale of a measured value, with room in pixels at both ends."""
    if log:
        return alt.Scale(type="log", nice=False, padding=padding)
    return alt.Scale(type="linear", zero=False, nice=False, padding=padding)


def _log_steps(channel: Channel) -> str:
    low, high = f"domain('{channel}')[0]", f"domain('{channel}')[1]"
    rough = f"(({high} - {low}) / {_FEWEST_STEPS})"
    power = f"pow(10, floor(log({rough}) / LN10))"
    first = f"({rough} / {power})"
    step = f"({power} * ({first} > 7 ? 10 : {first} > 3 ? 5 : {first} > 1.5 ? 2 : 1))"
    decades = ", ".join(f"{digit}e{power}" for power in _DECADES for digit in (1, 2, 5))
    even = f"sequence(ceil({low} / {step}) * {step}, {high}, {step})"
    return f"{high} <= {low} ? [{low}] : {high} / {low} > {_SHORT_LOG_AXIS} ? [{decades}] : {even}"
