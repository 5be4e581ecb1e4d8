"""A method against another one on lots that both measured, and the correction that follows."""

import numpy as np
import pandas as pd

from spc.charts.lots import Scale
from spc.compare.between_methods.corrections import Correction, correction
from spc.compare.between_methods.deming import error_ratio
from spc.compare.between_methods.method_comparison import Kind, MethodComparison, methods
from spc.intake.methods import MeasuringMethod


def mean_difference(pairs: pd.DataFrame, *, log: bool) -> MethodComparison:
    """How far off one method reads from another on average.

    Parameters
    ----------
    pairs
        Lots measured by both, from `store.compare.pairs`: `x` by the other method, `y` by this.
    log
        Whether they are compared by ratios.

    Returns
    -------
    MethodComparison

    Raises
    ------
    InvalidInput
        If there are too few pairs.
    """
    return methods(
        pairs["x"].to_numpy(dtype=np.float64),
        pairs["y"].to_numpy(dtype=np.float64),
        kind="differences",
        scale="log" if log else "linear",
    )


def compare_methods(
    pairs: pd.DataFrame, kind: Kind, stated: MeasuringMethod, reference: MeasuringMethod
) -> MethodComparison:
    """A comparison of one kind, with the error ratio that repeatability and samples give.

    Parameters
    ----------
    pairs
        Lots measured by both, from `store.compare.pairs`; at least one.
    kind
        Of the comparison.
    stated, reference
        The method, and the one it is held against.

    Returns
    -------
    MethodComparison

    Raises
    ------
    InvalidInput
        If there are too few pairs, or they do not allow this kind.
    """
    scale: Scale = "log" if _in_logs(pairs) and kind == "differences" else "linear"
    ratio = ratio_of_errors(pairs, stated, reference, shares=kind == "weighted-deming")
    return methods(
        pairs["x"].to_numpy(dtype=np.float64),
        pairs["y"].to_numpy(dtype=np.float64),
        kind=kind,
        scale=scale,
        variance_ratio=ratio if kind in ("deming", "weighted-deming") else 1.0,
    )


def _in_logs(pairs: pd.DataFrame) -> bool:
    return bool((pairs["scale"] == "log").all())


def ratio_of_errors(
    pairs: pd.DataFrame, stated: MeasuringMethod, reference: MeasuringMethod, *, shares: bool
) -> float:
    """Variance of this method's error over the other's, at the middle of the lots.

    Parameters
    ----------
    pairs
        Lots measured by both, from `store.compare.pairs`.
    stated, reference
        The method, and the one it is held against.
    shares
        Whether errors are taken as shares of the value.

    Returns
    -------
    float
    """
    scale: Scale = "log" if shares else "linear"
    sizes = [
        one.as_method().on_scale(one.repeatability, scale=scale, at=float(pairs[column].median()))
        for one, column in ((reference, "x"), (stated, "y"))
    ]
    return error_ratio(
        *sizes,
        reference_readings=max(1, round(pairs["x_samples"].median())),
        routine_readings=max(1, round(pairs["y_samples"].median())),
    )


def correction_from(
    pairs: pd.DataFrame, found: MethodComparison, reference: MeasuringMethod
) -> Correction:
    """The correction that follows from a comparison, with what the other method's values share.

    Parameters
    ----------
    pairs
        Lots measured by both, from `store.compare.pairs`.
    found
        Their comparison.
    reference
        The method that is corrected to.

    Returns
    -------
    Correction

    Raises
    ------
    InvalidInput
        If none can follow.
    """
    in_unit = found.kind == "differences" and found.scale == "linear"
    shared = reference.as_method().on_scale(
        reference.standard_uncertainty,
        scale="linear" if in_unit else "log",
        at=float(pairs["x"].median()),
    )
    return correction(found, reference_uncertainty=shared)
