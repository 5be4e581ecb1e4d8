"""Streams as a survey tells them, made from a few plain numbers."""

import numpy as np
import pandas as pd

from spc.charts import DEFAULT_RULES, RULES
from spc.store import Survey
from spc.sweep import sweep

USUAL = {
    "material": "cayenne powder",
    "supplier": "North Mill",
    "characteristic": "heat",
    "method": "rapid sensor",
    "basis": "as-is",
    "scale": "log",
    "unit": "SHU",
    "crop_year": 2025,
    "spread": 0.02,
    "samples": 3.0,
    "readings": 9.0,
    "within": 0.03,
    "degrees": 12.0,
}
LIMITS = ["center", "sigma", "lower", "upper", "size"]


def _points(number, *, values, censored=(), baseline=None, days=9, **facts):
    count = len(values)
    return pd.DataFrame(
        {
            "lot": [f"L-{place:02d}" for place in range(1, count + 1)],
            "received_at": pd.date_range("2025-11-03", periods=count, freq=f"{days}D"),
            "stream": number,
            "value": np.asarray(values, dtype=np.float64),
            "censored": np.array(censored or [0] * count, dtype=np.float64),
            "baseline": [baseline is None or place < baseline for place in range(count)],
            **USUAL,
            **facts,
        }
    )


def charted_survey(*streams) -> Survey:
    """A survey of streams, each given by its lot values and what is special about it."""
    points = pd.concat(
        [_points(number, **one) for number, one in enumerate(streams)], ignore_index=True
    )
    number = points["stream"].to_numpy()
    starts = np.flatnonzero(np.diff(number, prepend=-1))
    swept = sweep(
        points["value"],
        starts=starts,
        scale_log=(points["scale"].iloc[starts] == "log").to_numpy(),
        censored=points["censored"],
        baseline=points["baseline"],
        rules=tuple(RULES),
    )
    limits = {name: getattr(swept, name)[number] for name in LIMITS}
    return Survey(
        points=points.assign(restart=False, z=swept.z, **limits),
        marks=swept.signals & np.isin(tuple(RULES), DEFAULT_RULES),
        frozen={},
    )


def steady_values(count, *, level=40_000.0, cv=0.1, seed=5) -> list[float]:
    """Values of lots of a supplier who does not move: about 40 000, in logs a tenth apart."""
    noise = np.random.default_rng(seed).normal(0.0, cv, count)
    return [float(one) for one in level * np.exp(noise)]
