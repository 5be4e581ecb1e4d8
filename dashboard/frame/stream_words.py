"""What a stream's chart shows, in words."""

import math

import numpy as np
import pandas as pd

from dashboard.frame.words import count
from spc.charts import change_point
from spc.digits import written
from spc.errors import NoSpread


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
    range_ = found.plausible()
    before, after = (math.exp(one) if log else one for one in (found.before, found.after))
    spread = f" (90 % sure it was between {lots[range_[0]]} and {lots[range_[-1]]})"
    return (
        f"Most likely the level stepped at {lots[found.start]}{spread if len(range_) > 1 else ''},"
        f" from {written(before)} to {written(after, unit=unit)}."
    )
