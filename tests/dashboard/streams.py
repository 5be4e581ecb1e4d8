"""Streams of the demo and of the small store, by their keys."""

from spc.store import StreamKey

HEAT = StreamKey(
    material="cayenne powder", supplier="North Mill", characteristic="heat", method="rapid sensor"
)
DRY = StreamKey(
    material="cayenne powder",
    supplier="North Mill",
    characteristic="heat",
    method="rapid sensor",
    basis="dry",
)
# Of the demo: a supplier whose newest crop moved.
DRIFTING = StreamKey(
    material="cayenne powder",
    supplier="North Fen Spices",
    characteristic="heat",
    method="rapid sensor",
)


def zigzag(count, low=39_000.0, high=41_000.0):
    """Values of lots of a supplier who does not move, without chance."""
    return [low, high] * (count // 2)
