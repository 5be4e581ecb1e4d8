"""Acceptance: a lot against its specification, with what sampling and measurement can hide."""

from spc.acceptance.conformity import Risks, Settling, conformity, guard_band, more_samples
from spc.acceptance.evidence import LotMean, Method, Readings, Within, lot_mean, on_basis
from spc.acceptance.flags import Flag, History
from spc.acceptance.lines import LineVerdict
from spc.acceptance.slips import SLIPS, Contradiction, Slip, contradiction, likely_slip
from spc.acceptance.specification import Line, Specification
from spc.acceptance.verdict import LotVerdict, verdict

__all__ = [
    "SLIPS",
    "Contradiction",
    "Flag",
    "History",
    "Line",
    "LineVerdict",
    "LotMean",
    "LotVerdict",
    "Method",
    "Readings",
    "Risks",
    "Settling",
    "Slip",
    "Specification",
    "Within",
    "conformity",
    "contradiction",
    "guard_band",
    "likely_slip",
    "lot_mean",
    "more_samples",
    "on_basis",
    "verdict",
]
