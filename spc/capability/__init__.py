"""Capability: how a stream of lots fits between its limits, and where most lots lie."""

from spc.capability.families import Family
from spc.capability.gate import FEWEST_LOTS, Withheld, gate
from spc.capability.indices import Capability, Intervals, indices
from spc.capability.intervals import Interval
from spc.capability.percentile import (
    PercentileCapability,
    Ratios,
    percentile_indices,
    percentile_ratios,
)
from spc.capability.tolerance import (
    ToleranceInterval,
    extremes_confidence,
    extremes_size,
    tolerance_factor,
    tolerance_interval,
)

__all__ = [
    "FEWEST_LOTS",
    "Capability",
    "Family",
    "Interval",
    "Intervals",
    "PercentileCapability",
    "Ratios",
    "ToleranceInterval",
    "Withheld",
    "extremes_confidence",
    "extremes_size",
    "gate",
    "indices",
    "percentile_indices",
    "percentile_ratios",
    "tolerance_factor",
    "tolerance_interval",
]
