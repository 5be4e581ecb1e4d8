"""What a person asks, answered once: a question to a store in, one frozen value out.

A notebook, a command, a paper and a screen ask alike.  Nothing here draws or writes, and every
question says what it refuses.
"""

from spc.answers.blends.blend_sheets import BlendSheet, sheet_of_blend
from spc.answers.blends.draft import prediction_as_weighed, recipe_draft
from spc.answers.blends.future import NextLots, SupplierRecords, next_lots, supplier_records
from spc.answers.blends.order import BlendOrder, Limit
from spc.answers.blends.outlook import (
    KilogramPrice,
    LotWorth,
    cost_at_heats,
    cost_at_odds,
    worth_of_lots,
    worth_of_tests,
)
from spc.answers.blends.specified_orders import blend_order, materials_with_heat
from spc.answers.blends.stock import BlendStock
from spc.answers.blends.stock_today import heat_bias, stock_for_order
from spc.answers.blends.stocktake import stocktake_counts
from spc.answers.charted_streams import (
    ChartedStream,
    charted_stream,
    recent_signals,
    streams_of_lot,
)
from spc.answers.cost import CostOfHeat
from spc.answers.lot_record import Calculation, LotRecord
from spc.answers.lots import held_rows_of_lot, record_of_lot
from spc.answers.method_comparisons import compare_methods, correction_from
from spc.answers.method_spread import (
    SamplingParts,
    laboratories_study,
    readings_spread,
    sampling_parts,
    usual_sampling,
)
from spc.answers.methods import (
    MethodCorrections,
    MethodScale,
    corrections_of_method,
    declared_methods,
    other_methods,
    own_methods,
    scale_of_method,
)
from spc.answers.origins import NumberOrigin, origin_of_number
from spc.answers.review import LotsReviewed, review_lots
from spc.answers.sampling import (
    AcceptanceCurve,
    Inspection,
    MeanPlanTerms,
    curve_of_means,
    curve_of_shares,
    inspection,
    plan_by_mean,
    plan_by_share,
    sampling_of_lot,
)
from spc.answers.signed_versions import SignedVersion, signed_versions
from spc.answers.specifications import ProposalEffect, effect_of_proposal
from spc.answers.specified_lines import newest_specification, specified_line
from spc.answers.stream_capability import capability_of_stream
from spc.answers.streams import (
    RunningSums,
    SpreadWithin,
    WeightedAverage,
    running_sums,
    scores_without_baseline,
    spread_within,
    weighted_average,
)
from spc.answers.supplier_cards import MaterialCard, SupplierCard, card_of_supplier
from spc.answers.suppliers import compare_suppliers
from spc.answers.suppliers_compared import SuppliersCompared
from spc.answers.together import AllTogether, all_together

__all__ = [
    "AcceptanceCurve",
    "AllTogether",
    "BlendOrder",
    "BlendSheet",
    "BlendStock",
    "Calculation",
    "ChartedStream",
    "CostOfHeat",
    "Inspection",
    "KilogramPrice",
    "Limit",
    "LotRecord",
    "LotWorth",
    "LotsReviewed",
    "MaterialCard",
    "MeanPlanTerms",
    "MethodCorrections",
    "MethodScale",
    "NextLots",
    "NumberOrigin",
    "ProposalEffect",
    "RunningSums",
    "SamplingParts",
    "SignedVersion",
    "SpreadWithin",
    "SupplierCard",
    "SupplierRecords",
    "SuppliersCompared",
    "WeightedAverage",
    "all_together",
    "blend_order",
    "capability_of_stream",
    "card_of_supplier",
    "charted_stream",
    "compare_methods",
    "compare_suppliers",
    "correction_from",
    "corrections_of_method",
    "cost_at_heats",
    "cost_at_odds",
    "curve_of_means",
    "curve_of_shares",
    "declared_methods",
    "effect_of_proposal",
    "heat_bias",
    "held_rows_of_lot",
    "inspection",
    "laboratories_study",
    "materials_with_heat",
    "newest_specification",
    "next_lots",
    "origin_of_number",
    "other_methods",
    "own_methods",
    "plan_by_mean",
    "plan_by_share",
    "prediction_as_weighed",
    "readings_spread",
    "recent_signals",
    "recipe_draft",
    "record_of_lot",
    "review_lots",
    "running_sums",
    "sampling_of_lot",
    "sampling_parts",
    "scale_of_method",
    "scores_without_baseline",
    "sheet_of_blend",
    "signed_versions",
    "specified_line",
    "spread_within",
    "stock_for_order",
    "stocktake_counts",
    "streams_of_lot",
    "supplier_records",
    "usual_sampling",
    "weighted_average",
    "worth_of_lots",
    "worth_of_tests",
]
