"""What a specification allows, as brackets in the margin, never mistaken for what is usual."""

from typing import Final

import altair as alt

from dashboard.frame.charts.axes import colour, expression, grouped
from dashboard.frame.theme import ALLOWED, INK

_GAP: Final = 9
_HOOK: Final = 7
_WORDS: Final = {"lower": "spec min", "upper": "spec max"}


def margin_brackets(sides: tuple[str, ...]) -> list[alt.Chart]:
    """Layers right of a stream chart: a spine over what is allowed, a hook at each limit.

    Parameters
    ----------
    sides
        Which limits there are, ``"lower"``, ``"upper"``.

    Returns
    -------
    list of Chart
        They read the scale and never widen it: a limit outside the picture is an arrow at the
        edge with its number.
    """
    if not sides:
        return []
    return [_spine(sides), *(layer for side in sides for layer in _limit(side))]


def _limits(*sides: str) -> alt.Chart:
    chart = alt.Chart().transform_aggregate(
        spec_lower="max(spec_lower)", spec_upper="max(spec_upper)"
    )
    for side in sides:
        chart = chart.transform_filter(f"isValid(datum.spec_{side}) && isFinite(datum.spec_{side})")
    return chart


def _spine(sides: tuple[str, ...]) -> alt.Chart:
    top = "clamp(scale('y', datum.spec_upper), 0, height)" if "upper" in sides else "0"
    foot = "clamp(scale('y', datum.spec_lower), 0, height)" if "lower" in sides else "height"
    spine: alt.Chart = (
        _limits(*sides)
        .mark_rule(color=colour(ALLOWED), strokeWidth=2, opacity=0.9, aria=False)
        .encode(
            x=alt.value(expression(f"width + {_GAP + _HOOK}")),
            y=alt.value(expression(top)),
            y2=alt.value(expression(foot)),
        )
    )
    return spine


def _limit(side: str) -> list[alt.Chart]:
    at = f"scale('y', datum.spec_{side})"
    place = expression(f"clamp({at}, 0, height)")
    here = f"{at} >= -0.5 && {at} <= height + 0.5"
    hook = (
        _limits(side)
        .transform_filter(here)
        .mark_rule(color=colour(ALLOWED), strokeWidth=2, aria=False)
        .encode(
            x=alt.value(expression(f"width + {_GAP}")),
            x2=alt.value(expression(f"width + {_GAP + _HOOK + 1}")),
            y=alt.value(place),
        )
    )
    arrow = (
        _limits(side)
        .transform_filter(f"!({here})")
        .mark_point(
            shape=expression(f"{at} < 0 ? 'triangle-up' : 'triangle-down'"),
            size=80,
            filled=True,
            opacity=1,
            color=colour(ALLOWED),
            aria=False,
        )
        .encode(x=alt.value(expression(f"width + {_GAP + _HOOK}")), y=alt.value(place))
    )
    # The upper limit's words stand above its hook and the lower's below, so that they never meet;
    # at an edge they turn inward.
    above = f"{at} > height" if side == "lower" else f"{at} > 30"
    words = (
        _limits(side)
        .transform_calculate(words=f"['{_WORDS[side]}', {grouped(f'datum.spec_{side}')}]")
        .mark_text(
            align="left",
            baseline=expression(f"({above}) ? 'bottom' : 'top'"),
            lineHeight=14,
            fontSize=12,
            color=colour(INK),
            dy=expression(f"({above}) ? -16 : 2"),
        )
        .encode(
            x=alt.value(expression(f"width + {_GAP + _HOOK + 6}")),
            y=alt.value(place),
            text=alt.Text("words:N"),
        )
    )
    return [hook, arrow, words]
