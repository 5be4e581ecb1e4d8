"""The lots of a stream, as figures draw them and as people read them."""

import json
from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from dashboard.frame.lot_addresses import lot_address
from dashboard.frame.stream_tables import stream_frame
from dashboard.frame.words import crop
from dashboard.trends import words
from spc.answers.charted_streams import stream_held_to
from spc.answers.streams import RunningSums, SpreadWithin, WeightedAverage
from spc.answers.together import AllTogether
from spc.charts import RULES
from spc.digits import written
from spc.store import StreamKey, Survey

_NOTHING: Final = float("nan")
_SIGNAL: Final = "outside"
# What a figure of one stream draws beside the lots and a figure of something else leaves out.
_NO_SPECIFICATION: Final = {"spec_lower": _NOTHING, "spec_upper": _NOTHING}
_NO_WHISKERS: Final = {"whisker_low": _NOTHING, "whisker_high": _NOTHING}


def stream_table(points: pd.DataFrame, signals: pd.DataFrame) -> pd.DataFrame:
    """The lots of one stream, newest first, as people read them."""
    told = signals.groupby("lot")["rule"].agg(", ".join).to_dict()
    unit = str(points["unit"].iloc[0])
    marks = {1: "above ", -1: "below ", 0: "", 2: "about "}
    frame = pd.DataFrame(
        {
            "lot": points["lot"],
            "received": points["received_at"].dt.date,
            "crop": [crop(year) for year in points["crop_year"]],
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
    charted = [stream_held_to(survey, key, None) for key in keys]
    since = min(one.points["received_at"].min() for one in charted)
    until = max(one.points["received_at"].max() for one in charted)
    return {
        one.key: stream_frame(one.points, one.signals, line=None).assign(since=since, until=until)
        for one in charted
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


def average_frame(frame: pd.DataFrame, found: WeightedAverage) -> pd.DataFrame:
    """The stream chart's frame with each lot's value replaced by the weighted average so far."""
    return frame.assign(
        **_NO_WHISKERS,
        value=found.value,
        lower=found.lower,
        upper=found.upper,
        censored="",
        signal=np.where(found.signals, _SIGNAL, ""),
        label=[
            written(one, unit=unit) for one, unit in zip(found.value, frame["unit"], strict=True)
        ],
    )


def sums_frame(frame: pd.DataFrame, found: RunningSums) -> pd.DataFrame:
    """The running sums as their chart draws them; `frame` is the stream chart's."""
    return frame[["lot", "at", "order", "href"]].assign(
        above=found.above,
        below=found.below,
        decision=found.decision,
        signal=np.where(found.signals, _SIGNAL, ""),
    )


def spread_frame(frame: pd.DataFrame, found: SpreadWithin, *, log: bool) -> pd.DataFrame:
    """The stream chart's frame with each lot's spread as value; on log scale a share."""
    within = found.components.within
    shown = frame[found.known].assign(
        **_NO_WHISKERS,
        **_NO_SPECIFICATION,
        order=np.arange(1, found.known.sum() + 1),
        value=found.spread,
        center=within.center,
        lower=within.lower,
        upper=within.upper,
        censored="",
        in_baseline=True,
        signal=np.where(found.signals, _SIGNAL, ""),
        label=[f"{100 * one:.1f} %" if log else f"{one:.3g}" for one in found.spread],
    )
    return (shown.assign(unit="share") if log else shown).dropna(subset=["value"])


def scores_frame(frame: pd.DataFrame, score: NDArray[np.float64]) -> pd.DataFrame:
    """The stream chart's frame with each lot's score as value; without lots that have none."""
    return frame.assign(
        **_NO_WHISKERS,
        value=score,
        center=0.0,
        lower=-3.0,
        upper=3.0,
        censored="",
        in_baseline=False,
        signal=np.where(np.abs(score) > 3.0, _SIGNAL, ""),
        unit="score",
        label=[f"{one:+.2f}" for one in score],
    ).dropna(subset=["value"])


def together_frame(found: AllTogether) -> pd.DataFrame:
    """All characteristics in one distance, as the stream chart draws it."""
    outside = [f"{_SIGNAL}, mostly {name}" for name in found.largest]
    return pd.DataFrame(
        {
            "lot": found.lots,
            "at": found.received_at,
            "order": np.arange(1, len(found.lots) + 1),
            "value": found.distance,
            **_NO_WHISKERS,
            "center": _NOTHING,
            "lower": 0.0,
            "upper": found.upper,
            **_NO_SPECIFICATION,
            "censored": "",
            "in_baseline": found.in_baseline,
            "signal": np.where(found.signals, outside, ""),
            "chosen": False,
            "crop": "",
            "href": [lot_address(lot) for lot in found.lots],
            "label": [f"{one:.1f}" for one in found.distance],
            "unit": "distance²",
        }
    )


def contributions_table(found: AllTogether) -> pd.DataFrame:
    """What each characteristic adds to a lot's distance given the others, newest lot first."""
    return found.contributions.round(2).reset_index().iloc[::-1]
