"""Variance components and laboratories, as drawn and as people read them."""

import math

import numpy as np
import pandas as pd

from dashboard.methods.words.precision import between, interval, size
from spc.answers.method_spread import READING
from spc.compare.spread.variance_components import Components
from spc.compare.studies.precision_study import Repeatability
from spc.digits import percent, written


def spread_frame(found: Components, *, stated_sd: float, log: bool, unit: str) -> pd.DataFrame:
    """The levels that something can be said of, as their chart draws them."""
    frame = pd.DataFrame(
        {
            "level": found.names,
            "sd": found.sd,
            "low": np.sqrt(found.interval_low),
            "high": np.sqrt(found.interval_high),
            "label": [between(found, name, log=log, unit=unit) for name in found.names],
            "stated": [stated_sd if name == READING else math.nan for name in found.names],
        }
    )
    return frame[frame["sd"].notna()]


def spread_table(found: Components, *, log: bool, unit: str) -> pd.DataFrame:
    """Every level with its standard deviation, interval and share of the variance."""
    return pd.DataFrame(
        {
            "between": found.names,
            "standard deviation": [
                "–" if reason else size(float(sd), log=log, unit=unit)
                for sd, reason in zip(found.sd, found.reasons, strict=True)
            ],
            "95 % interval": [interval(found, name, log=log, unit=unit) for name in found.names],
            "share of variance": [
                "–" if math.isnan(share) else percent(float(share)) for share in found.share
            ],
            "groups": found.groups,
            "degrees of freedom": found.degrees,
        }
    )


def consistency_frame(found: Repeatability, *, signed: bool) -> pd.DataFrame:
    """Mandel's h (signed) or k of every laboratory at every level, as their chart draws them."""
    values = found.h if signed else found.k
    critical = found.critical_h[:, None, :] if signed else found.critical_k
    name = "h" if signed else "k"
    rows = [
        {
            "laboratory": laboratory,
            "level": level,
            "value": value,
            "at_5": at_5,
            "at_1": at_1,
            "words": f"{name} = {value:.2f} (5 %: {at_5:.2f}, 1 %: {at_1:.2f})",
            "beyond": bool(abs(value) > at_5),
        }
        for row, level in _by_height(found)
        for column, laboratory in enumerate(found.laboratories)
        for value in [float(values[row, column])]
        for at_5, at_1 in [critical[row, 0 if signed else column].tolist()]
        if not math.isnan(value)
    ]
    return pd.DataFrame(rows)


def _by_height(found: Repeatability) -> list[tuple[int, str]]:
    """Samples from the lowest to the highest, each with its place."""
    return [(int(row), found.levels[row]) for row in np.argsort(found.mean)]


def study_table(found: Repeatability, *, unit: str) -> pd.DataFrame:
    """Repeatability and reproducibility sample by sample."""
    columns = (
        ("s_r", found.repeatability_sd),
        ("s_L", found.between_sd),
        ("s_R", found.reproducibility_sd),
    )
    frame = pd.DataFrame(
        {
            "sample": found.levels,
            f"mean ({unit})": [written(float(one)) for one in found.mean],
            "laboratories": (found.cells.replicates > 0).sum(axis=1),
            "readings": found.cells.replicates.sum(axis=1),
        }
    )
    for name, sd in columns:
        frame[f"{name} ({unit})"] = [written(float(one)) for one in sd]
        frame[f"{name} share"] = [percent(float(one)) for one in sd / found.mean]
    frame[f"limit r ({unit})"] = [written(float(one)) for one in found.repeatability_limit]
    frame[f"limit R ({unit})"] = [written(float(one)) for one in found.reproducibility_limit]
    return frame.iloc[np.argsort(found.mean)]


def cells_table(found: Repeatability, *, unit: str) -> pd.DataFrame:
    """Each laboratory at each sample: mean, spread, h and k with their 1 % lines."""
    rows = [
        {
            "sample": level,
            "laboratory": laboratory,
            "readings": int(found.cells.replicates[row, column]),
            f"mean ({unit})": written(float(found.cells.mean[row, column])),
            f"standard deviation ({unit})": written(
                math.sqrt(found.cells.variance[row, column])
                if found.cells.replicates[row, column] > 1
                else math.nan
            ),
            "h": f"{found.h[row, column]:.2f}",
            "h at 1 %": f"{found.critical_h[row, 1]:.2f}",
            "k": f"{found.k[row, column]:.2f}",
            "k at 1 %": f"{found.critical_k[row, column, 1]:.2f}",
        }
        for row, level in _by_height(found)
        for column, laboratory in enumerate(found.laboratories)
    ]
    return pd.DataFrame(rows)
