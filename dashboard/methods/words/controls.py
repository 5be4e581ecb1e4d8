"""What control samples say of instruments and sensor batches."""

from collections.abc import Sequence
from typing import Final

from dashboard.frame.words import count, day
from spc.compare.between_methods.control_sample import FEWEST_DEGREES, FEWEST_READINGS
from spc.digits import written
from spc.intake import Control
from spc.store.lots.controls import ControlStream, deviation

NO_CONTROL: Final = (
    "No control sample is on record for this method: whether an instrument or a sensor batch reads"
    " right cannot be said. State one in a catalogue, [[control]], and receive its readings with"
    " its name where the lot's number stands."
)
HOW_CONTROLS: Final = (
    "The spread of single readings is pooled within all sensor batches of the instrument. A batch"
    " is off when its mean lies further from the assigned value than chance explains at a risk of"
    " 0.27 %, the uncertainty of the assigned value counted in; the bars are 95 % intervals. Single"
    " readings are held to three sigmas about the assigned value by these rules:"
)


def assigned(one: Control, unit: str) -> str:
    """What a control sample is, and what it is known to hold."""
    uncertain = written(one.standard_uncertainty, uncertainty=one.standard_uncertainty)
    return f"{one.control}: {written(one.assigned)} ± {uncertain} {unit} ({one.source})."


def watched(streams: Sequence[ControlStream]) -> str:
    """Whether a control sample signals."""
    if not streams:
        return "No control sample watches it."
    off: dict[str, list[str]] = {}
    for stream, batch, word in batches_by_concern(streams):
        if word == ", off":
            off.setdefault(batch, []).append(stream.instrument)
    if not off:
        return "No sensor batch reads its control sample off."
    told = "; ".join(f"{batch} on {' and '.join(sorted(who))}" for batch, who in off.items())
    return f"Off by its control sample: {told}."


def control(stream: ControlStream) -> str:
    """What the control sample says of one instrument, in a sentence."""
    judged, name = stream.judged, stream.control.control
    head = f"{stream.instrument or 'The instrument'} read {name}"
    if judged is None:
        return f"{head} too seldom: no sensor batch has two readings, so nothing can be said."
    off = [number for number in range(len(stream.batches)) if judged.off[number]]
    head = f"{head} {count(len(stream.readings), 'time')} with {_batches(len(stream.batches))}"
    few = int((~judged.enough).sum())
    notes = f" {_batches(few)} had fewer than {FEWEST_READINGS} readings and cannot be judged."
    young = (
        f" With {judged.degrees} degrees of freedom single readings cannot signal yet"
        f" ({FEWEST_DEGREES} are needed)."
    )
    more = (notes if few else "") + (young if judged.degrees < FEWEST_DEGREES else "")
    if not off:
        return f"{head}: none is off by more than chance explains.{more}"
    told = "; ".join(f"{stream.batches[each]} {deviation(stream, each)}" for each in off)
    return f"{head}; off by more than chance explains: {told}.{more}"


def _batches(number: int) -> str:
    return count(number, "sensor batch", "sensor batches")


def batches_by_concern(
    streams: Sequence[ControlStream],
) -> list[tuple[ControlStream, str, str]]:
    """Every sensor batch with a word on it: first those off, then those with signals, newest first.

    Returns
    -------
    list
        Of stream, batch and the word, which is empty for a batch with nothing to tell.
    """
    told = [
        (stream, batch, _concern(stream, number))
        for stream in streams
        for number, batch in enumerate(stream.batches)
    ]
    order = {", off": 0, ", signals": 1, "": 2}
    told.reverse()
    return sorted(told, key=lambda one: order[one[2]])


def _concern(stream: ControlStream, number: int) -> str:
    if stream.judged is not None and stream.judged.off[number]:
        return ", off"
    return ", signals" if stream.signals(number) else ""


def measured_with(stream: ControlStream, batch: str, lots: int, decided: int) -> str:
    """How many lots rest on readings with a batch."""
    if not lots:
        return f"No lot was measured with {batch} on {stream.instrument}."
    waiting = lots - decided
    return (
        f"{count(lots, 'lot')} {'was' if lots == 1 else 'were'} measured with {batch} on"
        f" {stream.instrument}; {decided} decided, {waiting} waiting. Each dossier says so."
    )


def readings(stream: ControlStream, batch: str) -> dict[str, str]:
    """By result, each reading of a control sample by one batch, to choose it by."""
    mine = stream.readings[stream.readings["sensor_batch"] == batch]
    return {
        row[
            "result"
        ]: f"{written(row['value'])} {stream.unit}, read by {row['operator'] or 'someone'}"
        f" on {day(row['measured_at'])} at {row['measured_at']:%H:%M}"
        for row in mine.to_dict("records")
    }
