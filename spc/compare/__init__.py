"""Suppliers, methods and laboratories against each other: whom and what to believe."""

from spc.acceptance.evidence.outliers import cochran, grubbs
from spc.compare.between_methods.control_sample import ControlSample, control_sample
from spc.compare.between_methods.corrections import Correction, correction
from spc.compare.between_methods.deming import error_ratio
from spc.compare.between_methods.level_relations import LevelRelations, level_relations
from spc.compare.between_methods.method_comparison import MethodComparison, methods
from spc.compare.between_methods.warrants import Warrant, as_method_figures, warrant
from spc.compare.between_suppliers.crop_drift import CropDrift, crop_drift
from spc.compare.between_suppliers.heat_cost import HeatCost, heat_cost
from spc.compare.between_suppliers.shares import CountedShare, counted_share
from spc.compare.between_suppliers.supplier_comparison import suppliers
from spc.compare.between_suppliers.supplier_results import SupplierComparison
from spc.compare.between_suppliers.within_lots import WithinLots, within_lots
from spc.compare.certificate_checks.certificate_comparison import (
    CertificateComparison,
    certificates,
)
from spc.compare.certificate_checks.scores import expanded_score, zeta_score
from spc.compare.lines.both_errors import BothErrorsLine, both_errors_line
from spc.compare.lines.calibration_control import CalibrationControl, calibration_control
from spc.compare.lines.least_squares import FittedPolynomial, LackOfFit, least_squares
from spc.compare.skewed.lognormal_mean import LognormalMean, lognormal_mean
from spc.compare.skewed.percentiles import EmpiricalPercentile, empirical_percentile
from spc.compare.skewed.ranks import RankComparison, RankTest, by_ranks, kruskal_wallis
from spc.compare.skewed.share_pairs import ShareComparison, share_pairs
from spc.compare.skewed.variances import VarianceTest, bartlett, two_variances, variance_against
from spc.compare.spread.cheapest_design import CheapestDesign, cheapest_design
from spc.compare.spread.purchase import Purchase, next_purchase
from spc.compare.spread.sampling_spread import (
    Prices,
    SamplingDesign,
    SamplingSpread,
    sampling_spread,
)
from spc.compare.spread.variance_components import Components, components
from spc.compare.studies.crossed_study import CrossedStudy, crossed_study
from spc.compare.studies.mandel import critical_h, critical_k, mandel_h, mandel_k
from spc.compare.studies.method_figures import method_figures
from spc.compare.studies.nested_study import NestedStudy, nested_study
from spc.compare.studies.outlying_pair import outlying_pair
from spc.compare.studies.precision_study import Repeatability, repeatability
from spc.compare.studies.study_cells import LeftOut

__all__ = [
    "BothErrorsLine",
    "CalibrationControl",
    "CertificateComparison",
    "CheapestDesign",
    "Components",
    "ControlSample",
    "Correction",
    "CountedShare",
    "CropDrift",
    "CrossedStudy",
    "EmpiricalPercentile",
    "FittedPolynomial",
    "HeatCost",
    "LackOfFit",
    "LeftOut",
    "LevelRelations",
    "LognormalMean",
    "MethodComparison",
    "NestedStudy",
    "Prices",
    "Purchase",
    "RankComparison",
    "RankTest",
    "Repeatability",
    "SamplingDesign",
    "SamplingSpread",
    "ShareComparison",
    "SupplierComparison",
    "VarianceTest",
    "Warrant",
    "WithinLots",
    "as_method_figures",
    "bartlett",
    "both_errors_line",
    "by_ranks",
    "calibration_control",
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
    "empirical_percentile",
    "error_ratio",
    "expanded_score",
    "grubbs",
    "heat_cost",
    "kruskal_wallis",
    "least_squares",
    "level_relations",
    "lognormal_mean",
    "mandel_h",
    "mandel_k",
    "method_figures",
    "methods",
    "nested_study",
    "next_purchase",
    "outlying_pair",
    "repeatability",
    "sampling_spread",
    "share_pairs",
    "suppliers",
    "two_variances",
    "variance_against",
    "warrant",
    "within_lots",
    "zeta_score",
]
