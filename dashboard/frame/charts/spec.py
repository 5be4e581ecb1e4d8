"""From an authored chart to the dictionary a page caches and feeds by name."""

from typing import Any, Final

import altair as alt

# Beyond some two thousand marks the page would fall back to a bitmap, which neither a screen
# reader nor a test can look into.
VECTOR: Final[dict[str, object]] = {"embedOptions": {"renderer": "svg"}}

# Stated side by side, because the page would otherwise take twenty pixels off the foot of every
# figure, and because it writes into this object.
PADDING: Final = {"left": 4, "right": 4, "top": 4, "bottom": 4}

_NOT_CACHED: Final = ("data", "datasets", "$schema")


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
