"""Acceptance: a lot against its specification, with what sampling and measurement can hide."""

from spc.acceptance.attributes import AttributesPlan, CountJudgement
from spc.acceptance.attributes_design import attributes_plan, zero_acceptance
from spc.acceptance.basis import on_basis
from spc.acceptance.bulk import BulkPlan, bulk_plan
from spc.acceptance.conformity import Risks, Settling, conformity, guard_band, more_samples
from spc.acceptance.decision_curve import DecisionCurve, MeasurementError, average_curve, plan_curve
from spc.acceptance.estimated import Judgement, estimated_outside
from spc.acceptance.evidence import LotMean, Readings, Within, lot_mean
from spc.acceptance.flags import Flag, History
from spc.acceptance.increments import chosen_packages, increments
from spc.acceptance.lines import LineVerdict
from spc.acceptance.methods import Method
from spc.acceptance.outgoing import OutgoingLimit
from spc.acceptance.outliers import Suspect, cochran, extreme_deviates, grubbs
from spc.acceptance.plausibility import (
    MOISTURE_BY_FORM,
    heat_contradiction,
    total_contradiction,
)
from spc.acceptance.promise import Promise
from spc.acceptance.sampling_advice import SamplingAdvice
from spc.acceptance.slips import (
    FACTORS,
    SLIPS,
    Contradiction,
    Slip,
    contradiction,
    likely_factors,
    likely_slip,
)
from spc.acceptance.specification import Line, Specification
from spc.acceptance.switching import InspectionLevel, SkipAdvice, inspection_level, may_skip
from spc.acceptance.variables import VariablesPlan, variables_plan
from spc.acceptance.verdict import LotVerdict, verdict

__all__ = [
    "FACTORS",
    "MOISTURE_BY_FORM",
    "SLIPS",
    "AttributesPlan",
    "BulkPlan",
    "Contradiction",
    "CountJudgement",
    "DecisionCurve",
    "Flag",
    "History",
    "InspectionLevel",
    "Judgement",
    "Line",
    "LineVerdict",
    "LotMean",
    "LotVerdict",
    "MeasurementError",
    "Method",
    "OutgoingLimit",
    "Promise",
    "Readings",
    "Risks",
    "SamplingAdvice",
    "Settling",
    "SkipAdvice",
    "Slip",
    "Specification",
    "Suspect",
    "VariablesPlan",
    "Within",
    "attributes_plan",
    "average_curve",
    "bulk_plan",
    "chosen_packages",
    "cochran",
    "conformity",
    "contradiction",
    "estimated_outside",
    "extreme_deviates",
    "grubbs",
    "guard_band",
    "heat_contradiction",
    "increments",
    "inspection_level",
    "likely_factors",
    "likely_slip",
    "lot_mean",
    "may_skip",
    "more_samples",
    "on_basis",
    "plan_curve",
    "total_contradiction",
    "variables_plan",
    "verdict",
    "zero_acceptance",
]
