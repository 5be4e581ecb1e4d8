"""Suppliers, methods and laboratories against each other: whom and what to believe."""

from spc.acceptance.outliers import cochran, grubbs
from spc.compare.certificate_comparison import CertificateComparison, certificates
from spc.compare.cheapest_design import CheapestDesign, cheapest_design
from spc.compare.control_sample import ControlSample, control_sample
from spc.compare.corrections import Correction, correction
from spc.compare.crop_drift import CropDrift, crop_drift
from spc.compare.crossed_study import CrossedStudy, crossed_study
from spc.compare.deming import error_ratio
from spc.compare.heat_cost import HeatCost, heat_cost
from spc.compare.level_relations import LevelRelations, level_relations
from spc.compare.mandel import critical_h, critical_k, mandel_h, mandel_k
from spc.compare.method_comparison import MethodComparison, methods
from spc.compare.method_figures import method_figures
from spc.compare.nested_study import NestedStudy, nested_study
from spc.compare.outlying_pair import outlying_pair
from spc.compare.precision_study import Repeatability, repeatability
from spc.compare.purchase import Purchase, next_purchase
from spc.compare.sampling_spread import Prices, SamplingDesign, SamplingSpread, sampling_spread
from spc.compare.scores import expanded_score, zeta_score
from spc.compare.shares import CountedShare, counted_share
from spc.compare.study_cells import LeftOut
from spc.compare.supplier_comparison import suppliers
from spc.compare.supplier_results import SupplierComparison
from spc.compare.variance_components import Components, components
from spc.compare.warrants import Warrant, as_method_figures, warrant
from spc.compare.within_lots import WithinLots, within_lots

__all__ = [
    "CertificateComparison",
    "CheapestDesign",
    "Components",
    "ControlSample",
    "Correction",
    "CountedShare",
    "CropDrift",
    "CrossedStudy",
    "HeatCost",
    "LeftOut",
    "LevelRelations",
    "MethodComparison",
    "NestedStudy",
    "Prices",
    "Purchase",
    "Repeatability",
    "SamplingDesign",
    "SamplingSpread",
    "SupplierComparison",
    "Warrant",
    "WithinLots",
    "as_method_figures",
    "certificates",
    "cheapest_design",
    "cochran",
    "components",
    "control_sample",
    "correction",
    "counted_share",
    "critical_h",
    "critical_k",
    "crop_drift",
    "crossed_study",
    "error_ratio",
    "expanded_score",
    "grubbs",
    "heat_cost",
    "level_relations",
    "mandel_h",
    "mandel_k",
    "method_figures",
    "methods",
    "nested_study",
    "next_purchase",
    "outlying_pair",
    "repeatability",
    "sampling_spread",
    "suppliers",
    "warrant",
    "within_lots",
    "zeta_score",
]
