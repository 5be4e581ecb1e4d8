"""Control samples batch by batch, and the lots measured beside them."""

from collections.abc import Sequence
from typing import Any

import pandas as pd

from dashboard.frame.lot_addresses import lot_address
from spc.store.lots.controls import ControlStream, deviation


def shared_axes(streams: Sequence[ControlStream]) -> tuple[Any, Any, float, float]:
    """First and last reading, least and largest end of an interval, over all instruments."""
    judged = [one.judged for one in streams if one.judged is not None]
    return (
        min(one.readings["measured_at"].min() for one in streams),
        max(one.readings["measured_at"].max() for one in streams),
        min((float(one.low.min()) for one in judged), default=0.0),
        max((float(one.high.max()) for one in judged), default=0.0),
    )


def batches_frame(stream: ControlStream, shared: tuple[Any, Any, float, float]) -> pd.DataFrame:
    """The sensor batches of one instrument as their chart draws them.

    Parameters
    ----------
    shared
        From `shared_axes`.
    """
    judged = stream.judged
    if judged is None:
        return pd.DataFrame()
    since, until, lowest, highest = shared
    first = stream.readings.groupby("sensor_batch", sort=False)["measured_at"].min()
    return pd.DataFrame(
        {
            "batch": stream.batches,
            "at": first.reindex(list(stream.batches)).to_numpy(),
            "since": since,
            "until": until,
            "lowest": lowest,
            "highest": highest,
            "deviation": judged.deviation,
            "low": judged.low,
            "high": judged.high,
            "readings": judged.readings,
            "off": judged.off,
            "words": [deviation(stream, each) for each in range(len(stream.batches))],
        }
    )


def batches_table(streams: Sequence[ControlStream]) -> pd.DataFrame:
    """Every sensor batch on every instrument, newest first."""
    rows = [
        {
            "instrument": stream.instrument,
            "sensor batch": batch,
            "control sample": stream.control.control,
            "first read": mine["measured_at"].min().date(),
            "last read": mine["measured_at"].max().date(),
            "readings": len(mine),
            "deviation": deviation(stream, number),
            "off": _off(stream, number),
            "signals": ", ".join(stream.signals(number)),
        }
        for stream in streams
        for number, batch in enumerate(stream.batches)
        for mine in [stream.readings[stream.readings["sensor_batch"] == batch]]
    ]
    frame = pd.DataFrame(rows)
    return frame.sort_values(["first read", "instrument"], ascending=[False, True], kind="stable")


def _off(stream: ControlStream, number: int) -> str:
    judged = stream.judged
    if judged is None or not judged.enough[number]:
        return "too few readings"
    return "yes" if judged.off[number] else "no"


def measured_with_table(
    results: pd.DataFrame, lots: pd.DataFrame, stream: ControlStream, batch: str
) -> pd.DataFrame:
    """The lots that have a reading made with a batch on an instrument, newest first."""
    mine = results[
        (results["characteristic"] == stream.control.characteristic)
        & (results["method"] == stream.method)
        & (results["instrument"] == stream.instrument)
        & (results["sensor_batch"] == batch)
    ]
    readings = mine.groupby("lot").size().rename("readings")
    found = lots.merge(readings, left_on="lot", right_index=True)
    return pd.DataFrame(
        {
            "lot": [lot_address(lot) for lot in found["lot"]],
            "material": found["material"],
            "supplier": found["supplier"],
            "received": found["received_at"].dt.date,
            "readings with it": found["readings"],
            "decision": found["decision"].where(found["decision"] != "", "waiting"),
        }
    ).iloc[::-1]
