"""Streams, verdicts and receipts as a screen gets them, made from a few plain numbers."""

from collections.abc import Callable
from datetime import datetime

import numpy as np
import pandas as pd
import pytest

from spc.acceptance import LotVerdict, Specification
from spc.acceptance.evidence.flags import Flag
from spc.acceptance.evidence.lines import LineVerdict
from spc.acceptance.specification import Line
from spc.charts import DEFAULT_RULES, RULES
from spc.store import Receipt, Survey
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


@pytest.fixture(scope="session")
def charted() -> Callable[..., Survey]:
    """A survey of streams, each given by its lot values and what is special about it."""

    def made(*streams) -> Survey:
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

    return made


@pytest.fixture(scope="session")
def steady() -> Callable[..., list[float]]:
    """Values of lots of a supplier who does not move: about 40 000, in logs a tenth apart."""

    def made(count, *, level=40_000.0, cv=0.1, seed=5) -> list[float]:
        noise = np.random.default_rng(seed).normal(0.0, cv, count)
        return [float(one) for one in level * np.exp(noise)]

    return made


@pytest.fixture(scope="session")
def judged() -> Callable[..., LotVerdict]:
    """A verdict with a line for each outcome; `text` stands wherever a person may write."""

    def made(recommendation, *outcomes, text="heat", safety=False, flags=()) -> LotVerdict:
        line = Line(
            characteristic=text, unit="SHU", scale="log", upper=5e4, safety=safety, source=text
        )
        return LotVerdict(
            specification=Specification(
                material=text,
                version=2,
                effective_from="2026-01-01",
                approved_by="Mara Quill",
                reason="first issue",
                lines=(line,) * len(outcomes),
            ),
            lines=tuple(
                LineVerdict(
                    line=line,
                    outcome=outcome,
                    probability=(0.5, 0.5),
                    mean=None,
                    reason=text,
                    remedy=text,
                )
                for outcome in outcomes
            ),
            flags=tuple(Flag(name=name, sentence=text, holds=True) for name in flags),
            recommendation=recommendation,
            sentence=f"{recommendation.capitalize()}: {text}",
        )

    return made


@pytest.fixture(scope="session")
def receipt() -> Callable[..., Receipt]:
    """What became of a file of the laboratory."""

    def made(**facts) -> Receipt:
        told = {"rows": 45, "stored": 43, "held": 2, "known": 0, "results": 60, **facts}
        return Receipt(
            receipt="0a1b2c3d4e5f",
            name="march.csv",
            sha256="0a1b2c3d4e5f" + "0" * 52,
            kind="rows",
            profile="sensor",
            received_by="Mara Quill",
            received_at=datetime(2026, 3, 12, 9, 30),  # noqa: DTZ001 - as the store keeps it: UTC
            **told,
        )

    return made


@pytest.fixture(scope="session")
def demo_survey(demo_store) -> Survey:
    """Every stream of the demo, charted."""
    survey: Survey = demo_store.sweep()
    return survey
