"""A chart's spec looked into, and lots to draw."""

import json
import math
import re

import numpy as np
import pandas as pd

from dashboard.frame.charts.stream_chart import COLUMNS


def layers(spec):
    """Every layer, those inside layers too."""
    for layer in spec["layer"]:
        yield layer
        if "layer" in layer:
            yield from layers(layer)


def fields(spec):
    """Names of the columns that a chart reads."""
    return set(re.findall(r'"field": "(\w+)"', json.dumps(spec)))


def lots(count):
    """As many lots of one stream, as its chart reads them."""
    value = np.full(count, 41_800.0)
    return pd.DataFrame(
        {
            "lot": [f"R26-{i:04d}" for i in range(count)],
            "at": pd.date_range("2026-03-12", periods=count, freq="9D"),
            "order": np.arange(1, count + 1),
            "value": value,
            **dict.fromkeys(("whisker_low", "whisker_high", "center", "lower", "upper"), math.nan),
            "spec_lower": math.nan,
            "spec_upper": 45_000.0,
            "censored": "",
            "in_baseline": True,
            "signal": "",
            "chosen": False,
            "crop": "crop 2026",
            "href": "/lots?lot=R26-0000",
            "label": "41 800 SHU",
            "unit": "SHU",
        },
        columns=list(COLUMNS),
    )
