"""The lots of a stream, as figures draw them and as people read them."""

import json
from collections.abc import Sequence
from typing import Final
from urllib.parse import quote

import numpy as np
import pandas as pd

from dashboard import wording
from spc.acceptance import Line
from spc.charts import RULES
from spc.digits import written
from spc.store import StreamKey, Survey

_CENSORED: Final = {0: "", 1: "above", -1: "below", 2: "between"}


def stream_frame(
    points: pd.DataFrame, signals: pd.DataFrame, *, line: Line | None, chosen: str = ""
) -> pd.DataFrame:
    """The points of one stream as the stream chart draws them.

    Parameters
    ----------
    points, signals
        Of one stream, from a survey.
    line
        The specification's line on this characteristic and basis; None draws no bracket.
    chosen
        The lot being looked at.
    """
    log = bool((points["scale"] == "log").all())
    whisker = points["spread"].fillna(0.0)
    value = points["value"]
    told = signals.groupby("lot")["rule"].agg(tuple).to_dict()
    rules = [told.get(lot, ()) for lot in points["lot"]]
    return pd.DataFrame(
        {
            "lot": points["lot"],
            "at": points["received_at"],
            "order": np.arange(1, len(points) + 1),
            "value": value,
            "whisker_low": value * np.exp(-whisker) if log else value - whisker,
            "whisker_high": value * np.exp(whisker) if log else value + whisker,
            "center": np.exp(points["center"]) if log else points["center"],
            "lower": points["lower"],
            "upper": points["upper"],
            "spec_lower": np.nan if line is None or line.lower is None else line.lower,
            "spec_upper": np.nan if line is None or line.upper is None else line.upper,
            "censored": points["censored"].map(_CENSORED),
            "in_baseline": points["baseline"],
            "signal": _only_news(rules),
            "chosen": points["lot"] == chosen,
            "crop": [wording.crop(year) for year in points["crop_year"]],
            "href": [f"/lot?lot={quote(lot)}" for lot in points["lot"]],
            "label": [
                written(one, unit=unit) for one, unit in zip(value, points["unit"], strict=True)
            ],
            "unit": points["unit"],
        }
    )


def _only_news(rules: Sequence[tuple[str, ...]]) -> list[str]:
    """A signal is written where it begins; while it lasts, the picture stays readable."""
    before: tuple[str, ...] = ()
    texts = []
    for now in rules:
        fresh = [rule for rule in now if rule not in before]
        texts.append(", ".join(fresh))
        before = now
    return texts


def stream_table(points: pd.DataFrame, signals: pd.DataFrame) -> pd.DataFrame:
    """The lots of one stream, newest first, as people read them."""
    told = signals.groupby("lot")["rule"].agg(", ".join).to_dict()
    unit = str(points["unit"].iloc[0])
    marks = {1: "above ", -1: "below ", 0: "", 2: "about "}
    frame = pd.DataFrame(
        {
            "lot": points["lot"],
            "received": points["received_at"].dt.date,
            "crop": [wording.crop(year) for year in points["crop_year"]],
            f"value ({unit})": [
                marks[int(mark)] + written(value)
                for mark, value in zip(points["censored"], points["value"], strict=True)
            ],
            "samples": points["samples"].astype(int),
            "readings": points["readings"].astype(int),
            "in baseline": points["baseline"],
            "signal": [told.get(lot, "") for lot in points["lot"]],
        }
    )
    return frame.iloc[::-1]


def timeline_frames(survey: Survey, keys: Sequence[StreamKey]) -> dict[StreamKey, pd.DataFrame]:
    """Several streams as the timeline draws them, all over the same time."""
    signals = survey.signals()
    points = {key: survey.of(key) for key in keys}
    since = min(one["received_at"].min() for one in points.values())
    until = max(one["received_at"].max() for one in points.values())
    return {
        key: stream_frame(
            mine, signals[signals["stream"] == mine["stream"].iloc[0]], line=None
        ).assign(since=since, until=until)
        for key, mine in points.items()
    }


def signals_in_words(signals: pd.DataFrame) -> pd.DataFrame:
    """The signals of one stream, newest first, each with its rule in a sentence and its source."""
    rows = signals.to_dict("records")
    return pd.DataFrame(
        [
            {
                "lot": row["lot"],
                "received": row["received_at"].date(),
                "value": written(row["value"], unit=row["unit"]),
                "what is unusual": RULES[row["rule"]].sentence,
                "source of the rule": RULES[row["rule"]].source,
            }
            for row in rows
        ],
        columns=["lot", "received", "value", "what is unusual", "source of the rule"],
    )


def baselines_table(past: pd.DataFrame) -> pd.DataFrame:
    """Versions of a baseline, newest first."""
    return pd.DataFrame(
        {
            "version": past["version"],
            "lots": [len(json.loads(lots)) for lots in past["lots"]],
            "left out": [
                ", ".join(f"{lot} ({why})" for lot, why in json.loads(text).items())
                for text in past["left_out"]
            ],
            "judges from": past["applies_from"].where(past["applies_from"] != "", "the first lot"),
            "begins anew": past["restarts"],
            "limits by": past["kind"].map(wording.kind),
            "rules": [", ".join(json.loads(text)) for text in past["rules"]],
            "frozen by": past["frozen_by"],
            "reason": past["reason"],
            "on (UTC)": past["frozen_at"].dt.strftime("%Y-%m-%d %H:%M"),
        }
    )
