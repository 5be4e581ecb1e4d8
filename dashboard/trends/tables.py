"""The lots of a stream, as figures draw them and as people read them."""

import json
from collections.abc import Sequence

import pandas as pd

from dashboard.frame import words as plain
from dashboard.frame.stream_tables import stream_frame
from dashboard.trends import words
from spc.charts import RULES
from spc.digits import written
from spc.store import StreamKey, Survey


def stream_table(points: pd.DataFrame, signals: pd.DataFrame) -> pd.DataFrame:
    """The lots of one stream, newest first, as people read them."""
    told = signals.groupby("lot")["rule"].agg(", ".join).to_dict()
    unit = str(points["unit"].iloc[0])
    marks = {1: "above ", -1: "below ", 0: "", 2: "about "}
    frame = pd.DataFrame(
        {
            "lot": points["lot"],
            "received": points["received_at"].dt.date,
            "crop": [plain.crop(year) for year in points["crop_year"]],
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
            "limits by": past["kind"].map(words.kind),
            "rules": [", ".join(json.loads(text)) for text in past["rules"]],
            "frozen by": past["frozen_by"],
            "reason": past["reason"],
            "on (UTC)": past["frozen_at"].dt.strftime("%Y-%m-%d %H:%M"),
        }
    )
