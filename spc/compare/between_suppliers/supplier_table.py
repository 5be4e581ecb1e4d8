"""The table that suppliers are compared by, checked row by row."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pandas.api.types import infer_dtype

from spc.charts.limits import on_log_scale
from spc.charts.lots import Scale
from spc.compare.between_suppliers.lots_by_supplier import GroupedLots, grouped_lots
from spc.errors import InvalidInput, NotPositive

Floats = NDArray[np.float64]


def lots_of_table(frame: pd.DataFrame, *, scale: Scale) -> tuple[tuple[str, ...], GroupedLots]:
    """Names of the suppliers in order, and their lots on the scale of the comparison.

    Parameters
    ----------
    frame
        One row a lot, with columns `supplier` and `value`, and `uncertainty` where it is known.
    scale
        Whether values are compared as they are or by their natural logarithms.

    Returns
    -------
    tuple of names and `GroupedLots`

    Raises
    ------
    InvalidInput
        If a column is missing, there is no row, a supplier is not named, a value is not a finite
        number, or an uncertainty is negative or missing; positions count from 0.
    NotPositive
        If a value on log scale is zero or negative.
    """
    missing = [name for name in ("supplier", "value") if name not in frame.columns]
    if missing:
        raise _refused(
            f"the table has no column {' and no column '.join(missing)}.",
            "Give one row a lot, with columns supplier and value.",
        )
    if frame.empty:
        raise _refused("the table has no lots.", "Choose a material that has results.")
    if scale not in ("linear", "log"):
        raise _refused(f"scale {scale!r} is not known.", 'Use "linear" or "log".')
    told = frame["supplier"].astype(str)
    nameless = np.flatnonzero(frame["supplier"].isna() | (told.str.strip() == ""))
    if nameless.size:
        raise _refused(
            f"the lot at position {nameless[0]} has no supplier.", "Name the supplier of each lot."
        )
    name = told.to_numpy(dtype=np.str_)
    names, code = np.unique(name, return_inverse=True)
    value = _values(frame, name, scale)
    return tuple(names.tolist()), grouped_lots(value, code, uncertainty=_uncertainties(frame, name))


def _values(frame: pd.DataFrame, name: NDArray[np.str_], scale: Scale) -> NDArray[np.generic]:
    """Finite values on the scale of the comparison, exact where they came so."""
    value = _numbers(frame, "value")
    refused = np.flatnonzero(~np.isfinite(value))
    if refused.size:
        at = int(refused[0])
        raise _refused(
            f"value {value[at]:g} of {name[at]} at position {at} is not a finite number.",
            "Leave out lots without a usable value.",
        )
    if scale == "linear":
        return frame["value"].to_numpy() if infer_dtype(frame["value"]) == "decimal" else value
    refused = np.flatnonzero(value <= 0.0)
    if refused.size:
        at = int(refused[0])
        raise NotPositive(value=float(value[at]), position=at, where=f"suppliers, {name[at]}")
    return on_log_scale(value)


def _uncertainties(frame: pd.DataFrame, name: NDArray[np.str_]) -> Floats:
    if "uncertainty" not in frame.columns:
        return np.zeros(len(frame))
    uncertainty = _numbers(frame, "uncertainty")
    refused = np.flatnonzero(~(np.isfinite(uncertainty) & (uncertainty >= 0.0)))
    if refused.size:
        at = int(refused[0])
        raise _refused(
            f"standard uncertainty {uncertainty[at]:g} of {name[at]} at position {at} is not"
            " possible.",
            "Give each lot's as zero or more, or leave the column out.",
        )
    return uncertainty


def _numbers(frame: pd.DataFrame, column: str) -> Floats:
    try:
        return frame[column].to_numpy(dtype=np.float64, na_value=np.nan)
    except (TypeError, ValueError) as problem:
        raise _refused(
            f"column {column} holds something that is no number ({problem}).",
            "Give numbers in one unit.",
        ) from problem


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="suppliers", remedy=remedy)
