"""What is usual for a material, learnt from its lots: the range that needs no second look."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Final, TypeAlias

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.derivation import HEAT_UNIT

# Material, characteristic and basis.
Key: TypeAlias = tuple[str, str, str]

KEY: Final = ["material", "characteristic", "basis"]
# Rules of thumb, no source.  Fewer lots say nothing of what is usual.  Honest lots of one material
# lie within five times their middle, those of a contaminant that is mostly not found within twenty;
# where the lots themselves scatter more, within four of their deviations, but never beyond fifty
# times, so that a slip of a hundred is always asked about.
FEWEST: Final = 5
_HONEST, _HONEST_TRACE, _WIDEST = 5.0, 20.0, 50.0
_DEVIATIONS: Final = 4.0
# Of the median absolute deviation to the standard deviation of a normal distribution.
_ROBUST: Final = 1.4826


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """What the lots of one material show of one characteristic, in its unit.

    Attributes
    ----------
    middle
        Median of the lots; of what was mostly not found, of the limits.
    lowest, highest
        Outside of which a value is asked about; -inf where low values are not.
    lots
        How many it rests on.
    """

    middle: float
    lowest: float
    highest: float
    lots: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Usual:
    """What the store knows of the materials of one file.

    Attributes
    ----------
    ranges
        By material, characteristic and basis.
    materials
        By lot.
    """

    ranges: Mapping[Key, Range] = field(default_factory=dict)
    materials: Mapping[str, str] = field(default_factory=dict)


def learnt(readings: pd.DataFrame) -> dict[Key, Range]:
    """The usual ranges of some materials.

    Parameters
    ----------
    readings
        Columns material, characteristic, basis, lot, scale and unit of the characteristic, and
        value_low and value_high in that unit; equal where the reading is a number.

    Returns
    -------
    dict
        A range for each material, characteristic and basis with enough lots.

    Notes
    -----
    Lots count once, however often they were measured.  Ratios are looked at and not differences:
    what goes wrong between an instrument and a file multiplies.  What is judged in logarithms and
    is no heat is a contaminant or a count, of which one lot may honestly have ten times another's.
    """
    ends = readings[["value_low", "value_high"]].to_numpy(dtype=np.float64)
    stated = np.where(np.isfinite(ends[:, 1]), ends[:, 1], ends[:, 0])
    told = readings[[*KEY, "lot"]].assign(
        size=np.log(stated, where=stated > 0.0, out=np.full(len(stated), np.nan)),
        found=ends[:, 0] > 0.0,
        trace=(readings["scale"] == "log") & (readings["unit"] != HEAT_UNIT),
    )
    lots = told.dropna(subset="size").groupby([*KEY, "lot"], observed=True)
    each = lots.agg(
        size=("size", "median"), found=("found", "any"), trace=("trace", "any")
    ).reset_index()
    return {
        (str(key[0]), str(key[1]), str(key[2])): _range(
            mine["size"].to_numpy(),
            is_trace=bool(mine["trace"].any() or 2 * mine["found"].sum() <= len(mine)),
        )
        for key, mine in each.groupby(KEY, observed=True)
        if len(mine) >= FEWEST
    }


def _range(sizes: NDArray[np.float64], *, is_trace: bool) -> Range:
    middle = float(np.median(sizes))
    scatter = _ROBUST * float(np.median(np.abs(sizes - middle)))
    honest = _HONEST_TRACE if is_trace else _HONEST
    ratio = min(max(honest, float(np.exp(_DEVIATIONS * scatter))), _WIDEST)
    center = float(np.exp(middle))
    return Range(
        middle=center,
        lowest=-np.inf if is_trace else center / ratio,
        highest=center * ratio,
        lots=sizes.size,
    )
