"""From layers to a chart, and from a chart to the dictionary a page caches and feeds by name."""

from collections.abc import Sequence
from typing import Any, Final

import altair as alt
import pandas as pd

# Beyond some two thousand marks the page would fall back to a bitmap, which neither a screen
# reader nor a test can look into.
_VECTOR: Final[dict[str, object]] = {"embedOptions": {"renderer": "svg"}}

# Stated side by side, because the page would otherwise take twenty pixels off the foot of every
# figure, and because it writes into this object.
_PADDING: Final = {"left": 4, "right": 4, "top": 4, "bottom": 4}

_NOT_CACHED: Final = ("data", "datasets", "$schema")


def layered(layers: Sequence[alt.Chart], *, columns: Sequence[str], **size: Any) -> alt.LayerChart:
    """Layers over one frame, authored on a placeholder without rows.

    Parameters
    ----------
    layers
        From the lowest to the uppermost; none carries data of its own.
    columns
        Of the frame that the chart is to be fed.
    size
        Its ``height``, in pixels or by step; without one the page sets it.
    """
    return alt.LayerChart(
        data=pd.DataFrame(columns=list(columns)),
        layer=list(layers),
        padding=_PADDING,
        usermeta=_VECTOR,
        **size,
    )


def as_spec(chart: alt.LayerChart) -> dict[str, Any]:
    """The chart without its placeholder data, ready to be cached and given a frame.

    Parameters
    ----------
    chart
        Authored on a placeholder; every layer reads the one frame.

    Returns
    -------
    dict
        For `st.vega_lite_chart(frame, spec)`, or with `"data"` added for a report.
    """
    spec = chart.to_dict()
    return {key: part for key, part in spec.items() if key not in _NOT_CACHED}
