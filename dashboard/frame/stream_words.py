"""What a stream's chart shows, in words."""

import math
from collections.abc import Callable, Sequence

import numpy as np
import pandas as pd

from dashboard.frame.words import count, listed
from spc.charts import ChangePoint, ChangeShape, change_point, change_shape
from spc.digits import written
from spc.errors import NoSpread, TooFewLots


def trend(points: pd.DataFrame, signals: pd.DataFrame, *, frozen: bool, chosen: str = "") -> str:
    """What a stream shows of one lot, or of its newest, in words, with what it rests on."""
    last = points[points["lot"] == chosen].iloc[0] if chosen else points.iloc[-1]
    lot = f"Lot {last['lot']}" if chosen else f"The newest lot, {last['lot']},"
    size = int(last["size"])
    if not math.isfinite(float(last["sigma"])):
        return (
            f"{count(len(points), 'lot')} so far, of which {size} can serve as a baseline: too few,"
            " or too alike, to say what is usual."
        )
    usual = f"{written(float(last['lower']))} to {written(float(last['upper']), unit=last['unit'])}"
    rests = f"{'the frozen' if frozen else 'a provisional'} baseline of {count(size, 'lot')}"
    mine = signals[signals["lot"] == last["lot"]]["rule"].tolist()
    state = f"{lot} is unusual: {', '.join(mine)}." if mine else f"{lot} is within what is usual."
    if math.isnan(float(last["z"])):
        state = f"{lot} is not judged: its value is known as a bound only."
    return f"{state} Usual for this supplier is {usual}, by {rests}. {changed(points)}".strip()


def changed(points: pd.DataFrame) -> str:
    """When a stream most likely moved; empty where nothing says that it did."""
    usable = points[(points["censored"] == 0).to_numpy()]
    if len(usable) < 4:
        return ""
    log = bool((usable["scale"] == "log").all())
    worked = np.log(usable["value"]) if log else usable["value"]
    try:
        found = change_point(worked)
    except NoSpread:
        return ""
    if found.p_value > 0.05:
        return ""
    lots, unit = usable["lot"].tolist(), str(usable["unit"].iloc[0])

    def told(level: float, unit: str = "") -> str:
        return written(math.exp(level) if log else level, unit=unit)

    try:
        shape = change_shape(worked)
    except TooFewLots:
        return _stepped(found, lots, told(found.before), told(found.after, unit))
    if shape.shape == "step":
        return _stepped(found, lots, told(found.before), told(found.after, unit))
    return _otherwise(shape, lots, told, unit)


def _stepped(found: ChangePoint, lots: Sequence[str], before: str, after: str) -> str:
    range_ = found.plausible()
    spread = f" (90 % sure it was between {lots[range_[0]]} and {lots[range_[-1]]})"
    return (
        f"Most likely the level stepped at {lots[found.start]}{spread if len(range_) > 1 else ''},"
        f" from {before} to {after}."
    )


def _otherwise(found: ChangeShape, lots: Sequence[str], told: Callable[..., str], unit: str) -> str:
    """What is said where a step is not the model that fits best, or not by enough."""
    ramp, apart = found.models["ramp"], found.models["outliers"]
    ends = f"from {told(ramp.first)} to {told(ramp.last, unit)}"
    if found.shape == "ramp":
        return f"Most likely the level has drifted since {lots[ramp.places[0]]}, {ends}."
    if found.shape == "outliers":
        return (
            f"Most likely the level did not move: {listed([lots[one] for one in apart.places])}"
            f" {'lies' if len(apart.places) == 1 else 'lie'} apart."
        )
    if found.shape == "steady":
        return ""
    ways = {
        "step": f"a step at {lots[found.models['step'].places[0]]}",
        "ramp": f"a drift since {lots[ramp.places[0]]}",
        "outliers": f"{listed([lots[one] for one in apart.places])} apart from the others",
        "steady": "no change at all",
    }
    return (
        "The lots look as if the level had moved, but they do not settle how: they fit"
        f" {' or '.join(ways[one] for one in found.contenders)} about equally well."
    )
