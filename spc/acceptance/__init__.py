"""Acceptance: a lot against its specification, with what sampling and measurement can hide."""

from spc.acceptance.changes import LineChange, changes
from spc.acceptance.conformity import Risks, Settling, conformity, guard_band, more_samples
from spc.acceptance.evidence.basis import on_basis
from spc.acceptance.evidence.evidence import LotMean, Readings, Within, lot_mean
from spc.acceptance.evidence.flags import Flag, History
from spc.acceptance.evidence.lines import LineVerdict
from spc.acceptance.evidence.outliers import Suspect, cochran, extreme_deviates, grubbs
from spc.acceptance.evidence.plausibility import (
    MOISTURE_BY_FORM,
    heat_contradiction,
    total_contradiction,
)
from spc.acceptance.evidence.slips import (
    FACTORS,
    SLIPS,
    Contradiction,
    Slip,
    contradiction,
    likely_factors,
    likely_slip,
)
from spc.acceptance.methods import Method
from spc.acceptance.plans.attributes import AttributesPlan, CountJudgement
from spc.acceptance.plans.attributes_design import attributes_plan, zero_acceptance
from spc.acceptance.plans.bulk import BulkPlan, bulk_plan
from spc.acceptance.plans.decision_curve import (
    DecisionCurve,
    MeasurementError,
    average_curve,
    plan_curve,
)
from spc.acceptance.plans.double import DoublePlan
from spc.acceptance.plans.estimated import Judgement, estimated_outside
from spc.acceptance.plans.increments import chosen_packages, increments
from spc.acceptance.plans.outgoing import OutgoingLimit
from spc.acceptance.plans.rectifying import plan_by_aoql, plan_by_ltpd
from spc.acceptance.plans.sampling_advice import SamplingAdvice
from spc.acceptance.plans.sequential import SequentialPlan, sequential_plan
from spc.acceptance.plans.skip_lot import SkipLotPlan
from spc.acceptance.plans.switching import (
    InspectionLevel,
    SkipAdvice,
    inspection_level,
    may_skip,
)
from spc.acceptance.plans.two_points import Promise
from spc.acceptance.plans.variables import VariablesPlan, variables_plan
from spc.acceptance.rule_curves import rule_curve
from spc.acceptance.specification import Line, Specification
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
    "DoublePlan",
    "Flag",
    "History",
    "InspectionLevel",
    "Judgement",
    "Line",
    "LineChange",
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
    "SequentialPlan",
    "Settling",
    "SkipAdvice",
    "SkipLotPlan",
    "Slip",
    "Specification",
    "Suspect",
    "VariablesPlan",
    "Within",
    "attributes_plan",
    "average_curve",
    "bulk_plan",
    "changes",
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
    "plan_by_aoql",
    "plan_by_ltpd",
    "plan_curve",
    "rule_curve",
    "sequential_plan",
    "total_contradiction",
    "variables_plan",
    "verdict",
    "zero_acceptance",
]
