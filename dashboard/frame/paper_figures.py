"""Figures of reports: the screen's own charts, drawn as vectors on white paper."""

import json
from functools import cache
from typing import Any, Final

import pandas as pd
import vl_convert

from dashboard.frame.charts.spec import as_spec
from dashboard.frame.charts.stream_chart import stream_chart
from dashboard.frame.paper import font_folder, printable
from dashboard.frame.theme import altair_config

WIDTH: Final = 640
_STREAM_HEIGHT: Final = 190
_PAPER: Final = "white"


def drawn(spec: dict[str, Any], frame: pd.DataFrame, *, width: int, height: int = 0) -> str:
    """A chart as SVG, its words still words.

    Parameters
    ----------
    spec
        From `dashboard.frame.charts.spec.as_spec`; it is not changed.
    frame
        What the chart reads.
    width, height
        In pixels, axes included; without a height the chart keeps its own.

    Returns
    -------
    str
        In the typeface of the reports, the same for the same chart and frame.
    """
    _know_the_typeface()
    texts = frame.select_dtypes(exclude=["number", "bool", "datetime"])
    clean = frame.assign(**{str(name): texts[name].map(printable) for name in texts})
    rows = json.loads(clean.to_json(orient="records", date_format="iso", double_precision=15))
    whole = {**spec, "data": {"values": rows}, "width": width}
    if height:
        whole["height"] = height
    return vl_convert.vegalite_to_svg(
        whole, config={**altair_config("light"), "background": _PAPER}
    )


def stream(frame: pd.DataFrame, *, log: bool) -> str:
    """One stream with what is usual and what is allowed."""
    brackets = tuple(side for side in ("lower", "upper") if frame[f"spec_{side}"].notna().any())
    limits = bool(frame["lower"].notna().any() or frame["upper"].notna().any())
    spec = _stream_spec(log=log, limits=limits, brackets=brackets)
    return drawn(spec, frame, width=WIDTH, height=_STREAM_HEIGHT)


@cache
def _stream_spec(*, log: bool, limits: bool, brackets: tuple[str, ...]) -> dict[str, Any]:
    return as_spec(stream_chart(log=log, limits=limits, brackets=brackets))


@cache
def _know_the_typeface() -> None:
    vl_convert.register_font_directory(font_folder())
