"""A recipe on a heat axis: the window, what each lot has, what is taken, and what comes of it.

From below: a bar at the heat of each lot, as high as its kilograms, filled as far as the recipe
takes them; a line of words for each portion; above them the distribution of the blend.  The window
runs through all of it.  Heights are pixels worked out beforehand, so that no two words overlap.
"""

from typing import Any, Final, Literal

import altair as alt

from dashboard.frame.charts.axes import colour, number_scale
from dashboard.frame.charts.spec import layered
from dashboard.frame.charts.titled_axis import titled_axis
from dashboard.frame.theme import ALLOWED, INK, MEASURED, QUIET

COLUMNS: Final = (
    *("kind", "heat", "until", "base", "top", "taken", "side"),
    *("lot", "label", "amount", "use", "price", "supplier"),
)
BARS: Final = 150
ROW: Final = 18
CURVE: Final = 80
GAP: Final = 14
_WIDTH: Final = 7


def blend_height(rows: int) -> int:
    """Pixels of the picture with that many lines of words."""
    return BARS + GAP + ROW * rows + GAP + CURVE + GAP


def blend_chart(*, log: bool, unit: str) -> alt.LayerChart:
    """Chart of a recipe, on placeholder data; its height is to be set by `blend_height`.

    Parameters
    ----------
    log
        Whether heat runs on a log axis.
    unit
        Of heat.

    Returns
    -------
    LayerChart
        On a frame of `COLUMNS`.  Of `kind` ``"band"`` one line from `heat` `until` its end, from 0
        to `top`; ``"lot"`` one line each, a bar from 0 to `top` filled to `taken`, with `amount`,
        `use`, `price` and `supplier` in words; ``"portion"`` one line each, its `label` at
        `top` and a leader from `base`, on the `side` where there is room; ``"curve"`` the outline
        of the distribution from `base` to `top`.
    """
    base = alt.Chart()
    x = alt.X(
        "heat:Q",
        scale=number_scale(log=log, padding=12),
        axis=titled_axis(f"heat ({unit})", log=log),
    )
    y = alt.Y("top:Q", axis=None, stack=None, scale=alt.Scale(nice=False, zero=True))
    floor = alt.Y2("base:Q")
    layers = [*_band(base, x, y), *_bars(base, x, y), *_curve(base, x, y, floor)]
    layers += [*_words(base, x, y, align="left"), *_words(base, x, y, align="right")]
    return layered(layers, columns=COLUMNS)


def _band(base: alt.Chart, x: alt.X, y: alt.Y) -> list[Any]:
    mine = base.transform_filter("datum.kind == 'band'")
    edge: dict[str, Any] = {"color": colour(ALLOWED), "strokeDash": [5, 3], "aria": False}
    return [
        mine.mark_rect(color=colour(ALLOWED), opacity=0.1, aria=False).encode(
            x=x, x2=alt.X2("until:Q"), y=y, y2=alt.Y2("base:Q")
        ),
        mine.mark_rule(**edge).encode(x=x, y=y, y2=alt.Y2("base:Q")),
        mine.mark_rule(**edge).encode(x=alt.X("until:Q"), y=y, y2=alt.Y2("base:Q")),
    ]


def _bars(base: alt.Chart, x: alt.X, y: alt.Y) -> list[Any]:
    mine = base.transform_filter("datum.kind == 'lot'")
    hover: list[Any] = [
        alt.Tooltip("lot:N", title="lot"),
        alt.Tooltip("label:N", title="heat"),
        alt.Tooltip("amount:N", title="available"),
        alt.Tooltip("use:N", title="taken"),
        alt.Tooltip("price:N", title="price"),
        alt.Tooltip("supplier:N", title="supplier"),
    ]
    return [
        mine.mark_bar(
            width=_WIDTH,
            color=colour(QUIET),
            fillOpacity=0.18,
            stroke=colour(QUIET),
            strokeOpacity=0.75,
        ).encode(x=x, y=y, y2=alt.Y2("base:Q"), tooltip=hover),
        mine.transform_filter("datum.taken > 0")
        .mark_bar(width=_WIDTH, color=colour(MEASURED))
        .encode(x=x, y=alt.Y("taken:Q", axis=None), y2=alt.Y2("base:Q"), tooltip=hover),
    ]


def _curve(base: alt.Chart, x: alt.X, y: alt.Y, floor: alt.Y2) -> list[Any]:
    mine = base.transform_filter("datum.kind == 'curve'")
    return [
        mine.mark_area(color=colour(MEASURED), opacity=0.2, orient="vertical", aria=False).encode(
            x=x, y=y, y2=floor
        ),
        mine.mark_line(color=colour(MEASURED), strokeWidth=1.6, aria=False).encode(x=x, y=y),
        base.transform_filter("datum.kind == 'mean'")
        .mark_rule(color=colour(MEASURED), strokeWidth=1.6)
        .encode(x=x, y=y, y2=floor, tooltip=[alt.Tooltip("label:N", title="predicted")]),
    ]


def _words(base: alt.Chart, x: alt.X, y: alt.Y, *, align: Literal["left", "right"]) -> list[Any]:
    side, away = ("right", 5) if align == "left" else ("left", -5)
    mine = base.transform_filter(f"datum.kind == 'portion' && datum.side == '{side}'")
    return [
        mine.mark_rule(color=colour(MEASURED), opacity=0.55, aria=False).encode(
            x=x, y=y, y2=alt.Y2("base:Q")
        ),
        mine.mark_text(
            align=align, baseline="middle", dx=away, fontSize=12, color=colour(INK)
        ).encode(x=x, y=y, text=alt.Text("label:N")),
    ]
