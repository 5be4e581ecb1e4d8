"""Streams in a lot's record: words, a picture, and the lot ringed."""

from typing import Final

from dashboard.frame import paper_figures, stream_tables, stream_words
from dashboard.frame.paper import Told, short
from spc.acceptance import Specification
from spc.answers.charted_streams import ChartedStream

_LABEL: Final = 14


def stream(charted: ChartedStream, specification: Specification, lot: str) -> Told:
    """One stream of this supplier's, in words and as a picture with the lot ringed."""
    sentence = stream_words.trend(
        charted.points, charted.signals, frozen=charted.frozen, chosen=lot
    )
    frame = stream_tables.stream_frame(
        charted.points, charted.signals, line=charted.line, chosen=lot
    )
    # A very long number would take the room of the picture; the text above has it in full.
    frame = frame.assign(lot=[short(one, _LABEL) for one in frame["lot"]])
    key = charted.key
    name = f"{key.characteristic} by {key.method}{f', {key.basis}' if key.basis else ''}"
    log = bool((charted.points["scale"] == "log").all())
    return {
        "name": name,
        "sentence": sentence,
        "note": _unbracketed(charted, specification),
        "chart": paper_figures.stream(frame, log=log),
        "alt": f"{name}. {sentence}",
    }


def _unbracketed(charted: ChartedStream, specification: Specification) -> str:
    """Why a limited characteristic has no bracket."""
    bases = [
        one.basis
        for one in specification.lines
        if one.characteristic == charted.key.characteristic and one.basis
    ]
    if charted.line is not None or not bases:
        return ""
    return f"No bracket is drawn: the specification limits it on {bases[0]} basis."
