"""Control samples as they were read, and what that says of every lot measured beside them."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from spc.acceptance import Flag
from spc.charts.lots import Scale
from spc.charts.refusals import FEWEST_FOR_A_SPREAD
from spc.compare.between_methods.control_sample import CONTROL_RULES, ControlSample, control_sample
from spc.digits import change
from spc.intake import Control
from spc.store.file.cursors import Cursor

STREAM: Final = ["control", "characteristic", "method", "instrument"]

# A reading that is a bound tells nothing of a batch's mean; it is left out and counted elsewhere.
READINGS: Final = """
    select
        control.control,
        control.characteristic,
        control.assigned,
        control.standard_uncertainty,
        control.source,
        characteristic.unit,
        characteristic.scale,
        current_result.method,
        current_result.instrument,
        current_result.sensor_batch,
        current_result.measured_at,
        current_result.operator,
        current_result.result,
        current_result.value_low as value
    from current_result
    join control
      on control.control        = current_result.lot
     and control.characteristic = current_result.characteristic
    join characteristic on characteristic.characteristic = control.characteristic
    where current_result.value_low = current_result.value_high
      and ($method = '' or current_result.method = $method)
    order by
        control.control, control.characteristic, current_result.method, current_result.instrument,
        current_result.measured_at, current_result.sample, current_result.replicate,
        current_result.result
"""

MEASURED_WITH: Final = """
    select distinct lot, characteristic, method, instrument, sensor_batch
    from current_result
    where list_contains($lots, lot)
    order by all
"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ControlStream:
    """One control sample on one instrument, as it was read and judged.

    Attributes
    ----------
    batches : shape (batches,)
        Names of the sensor batches, in order of first use.
    readings
        One line a reading, batch after batch in order of time: sensor_batch, measured_at,
        operator, result, value.
    judged
        None where no batch was read twice, so that nothing can be said.
    """

    control: Control
    method: str
    instrument: str
    unit: str
    scale: Scale
    batches: tuple[str, ...]
    readings: pd.DataFrame
    judged: ControlSample | None

    def signals(self, batch: int) -> tuple[str, ...]:
        """What a batch's readings of the control sample showed, in the names of the rules."""
        if self.judged is None:
            return ()
        mine = (self.readings["sensor_batch"] == self.batches[batch]).to_numpy()
        hit = np.logical_or.reduce(self.judged.signals[mine], axis=0).tolist()
        return tuple(rule for rule, found in zip(CONTROL_RULES, hit, strict=True) if found)


def streams(cursor: Cursor, *, method: str = "") -> list[ControlStream]:
    """Every control sample on every instrument, judged batch by batch."""
    frame = cursor.execute(READINGS, {"method": method}).df()
    return [_stream(mine) for _, mine in frame.groupby(STREAM, sort=False)]


def notes(cursor: Cursor, lots: Sequence[str]) -> dict[str, list[Flag]]:
    """What the control samples say of the readings of each lot; lots without a note are left out.

    A lot is noted when a reading of it was made with a batch, on an instrument, whose readings of
    the control sample signal.
    """
    told = {key: sentence for one in streams(cursor) for key, sentence in _sentences(one).items()}
    found: dict[str, list[Flag]] = {}
    if told:
        measured = cursor.execute(MEASURED_WITH, {"lots": list(lots)}).fetchall()
        for lot, *key in measured:
            if tuple(key) in told:
                flag = Flag(name="control sample off", sentence=told[tuple(key)])
                found.setdefault(lot, []).append(flag)
    return found


def _stream(mine: pd.DataFrame) -> ControlStream:
    head = mine.iloc[0]
    # Two batches may be in use at once; each is judged by its own readings.
    batches = tuple(mine["sensor_batch"].unique())
    ordered = mine.assign(place=pd.Categorical(mine["sensor_batch"], categories=batches))
    ordered = ordered.sort_values("place", kind="stable").drop(columns="place")
    return ControlStream(
        control=Control(
            control=head["control"],
            characteristic=head["characteristic"],
            assigned=float(head["assigned"]),
            standard_uncertainty=float(head["standard_uncertainty"]),
            source=head["source"],
        ),
        method=head["method"],
        instrument=head["instrument"],
        unit=head["unit"],
        scale="log" if head["scale"] == "log" else "linear",
        batches=batches,
        readings=ordered[["sensor_batch", "measured_at", "operator", "result", "value"]],
        judged=_judged(ordered, head),
    )


def _judged(ordered: pd.DataFrame, head: pd.Series) -> ControlSample | None:
    batch = ordered["sensor_batch"]
    if batch.value_counts().max() < FEWEST_FOR_A_SPREAD:
        return None
    return control_sample(
        ordered["value"].to_numpy(dtype=np.float64),
        np.flatnonzero(batch.ne(batch.shift()).to_numpy()),
        assigned=float(head["assigned"]),
        standard_uncertainty=float(head["standard_uncertainty"]),
        scale="log" if head["scale"] == "log" else "linear",
    )


def _sentences(stream: ControlStream) -> dict[tuple[str, str, str, str], str]:
    """By characteristic, method, instrument and batch: what to say of what was measured with it."""
    if stream.judged is None:
        return {}
    found = {}
    for number, batch in enumerate(stream.batches):
        said = _said(stream, stream.judged, number)
        if said:
            key = (stream.control.characteristic, stream.method, stream.instrument, batch)
            found[key] = said
    return found


def _said(stream: ControlStream, judged: ControlSample, number: int) -> str:
    signals = stream.signals(number)
    if not (judged.off[number] or signals):
        return ""
    with_what = f"{stream.batches[number]} on {stream.instrument}"
    head = f"{stream.control.characteristic}: {with_what} read control sample"
    text = f"{head} {stream.control.control} {deviation(stream, number)}"
    return f"{text}; {', '.join(signals)}." if signals else f"{text}."


def deviation(stream: ControlStream, number: int) -> str:
    """How far from its assigned value a batch read the control sample, in words."""
    judged = stream.judged
    if judged is None:
        return "too seldom to judge"
    ends = [judged.deviation[number], judged.low[number], judged.high[number]]
    readings = f"{judged.readings[number]} readings"
    if stream.scale == "log":
        middle, low, high = (change(end) for end in ends)
        return f"{middle} off ({low} to {high}, {readings})"
    middle, low, high = (f"{end:+.3g}" for end in ends)
    return f"{middle} {stream.unit} off ({low} to {high}, {readings})"
