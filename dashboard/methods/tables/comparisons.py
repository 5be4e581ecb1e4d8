"""Lots measured by two methods, as drawn and as people read them."""

from typing import Final

import numpy as np
import pandas as pd

from dashboard.frame.lot_addresses import lot_address
from dashboard.methods.words.comparisons import apart
from spc.compare.between_methods.method_comparison import MethodComparison
from spc.digits import change, written

_ALONG: Final = 60


def differences_frame(
    pairs: pd.DataFrame, found: MethodComparison, names: tuple[str, str]
) -> pd.DataFrame:
    """The differences of two methods against their level, as their chart draws them."""
    log, unit = found.scale == "log", str(pairs["unit"].iloc[0])
    back = np.expm1 if log else np.asarray
    level = np.exp(found.middle) if log else found.middle
    lots = _lots_frame(pairs, names).assign(x=level, y=back(found.difference))
    ends = [level.min(), level.max()]
    apart_ = found.agreement
    bias = pd.DataFrame(
        {
            "part": "bias",
            "x": ends,
            "y": back(np.array([apart_.bias] * 2)),
            "lower": back(np.array([apart_.bias_interval.low] * 2)),
            "upper": back(np.array([apart_.bias_interval.high] * 2)),
            "label": f"mean {apart(apart_.bias, scale=found.scale, unit=unit)}",
        }
    )
    limits = [
        pd.DataFrame(
            {
                "part": "limit",
                "x": ends,
                "y": back(np.array([at] * 2)),
                "label": f"{name} limit of agreement {apart(at, scale=found.scale, unit=unit)}",
            }
        )
        for name, at in (("lower", apart_.lower), ("upper", apart_.upper))
    ]
    return pd.concat([lots, bias, *limits], ignore_index=True)


def line_frame(
    pairs: pd.DataFrame, found: MethodComparison, names: tuple[str, str], *, log: bool
) -> pd.DataFrame:
    """One method against the other with the line between them, as their chart draws them."""
    low, high = float(pairs["x"].min()), float(pairs["x"].max())
    along = np.geomspace(low, high, _ALONG) if log else np.linspace(low, high, _ALONG)
    fitted = found.intercept + found.slope * along
    shown = fitted > 0.0 if log else np.ones(fitted.shape, dtype=bool)
    return pd.concat(
        [
            _lots_frame(pairs, names).assign(x=pairs["x"].to_numpy(), y=pairs["y"].to_numpy()),
            pd.DataFrame({"part": "fit", "x": along[shown], "y": fitted[shown]}),
            pd.DataFrame({"part": "same", "x": along, "y": along}),
        ],
        ignore_index=True,
    )


def _lots_frame(pairs: pd.DataFrame, names: tuple[str, str]) -> pd.DataFrame:
    """Rows of lots, with what both methods read."""
    method, against = names
    unit = str(pairs["unit"].iloc[0])
    return pd.DataFrame(
        {
            "part": "lot",
            "lot": pairs["lot"].to_numpy(),
            "at": pairs["received_at"].to_numpy(),
            "label": [
                f"{written(y, unit=unit)} by {method}, {written(x)} by {against}"
                for x, y in zip(pairs["x"], pairs["y"], strict=True)
            ],
        }
    )


def pairs_table(pairs: pd.DataFrame, *, method: str, against: str) -> pd.DataFrame:
    """Lots measured by both methods, newest first, as they were measured."""
    unit = str(pairs["unit"].iloc[0])
    log = bool((pairs["scale"] == "log").all())
    y, x = pairs["y"].to_numpy(), pairs["x"].to_numpy()
    return pd.DataFrame(
        {
            "lot": [lot_address(lot) for lot in pairs["lot"]],
            "material": pairs["material"],
            "supplier": pairs["supplier"],
            "received": pairs["received_at"].dt.date,
            f"{method} ({unit})": [written(one) for one in y],
            "samples": pairs["y_samples"].astype(int),
            f"{against} ({unit})": [written(one) for one in x],
            "samples there": pairs["x_samples"].astype(int),
            "difference": (
                [change(one) for one in y / x - 1.0] if log else [written(one) for one in y - x]
            ),
        }
    ).iloc[::-1]
