"""Values that can be, but that the material never showed: each held, and the whole file's slip."""

from collections.abc import Mapping
from dataclasses import dataclass
from math import log
from types import MappingProxyType
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.digits import written
from spc.intake.checks.holds import Holds
from spc.intake.checks.usual import Range, Usual
from spc.intake.distinct import mapped

IMPLAUSIBLE: Final = "implausible-value"
WHOLE_FILE: Final = "whole-file-slip"

# What is lost or added between an instrument and a file, and its usual cause; common practice.
_SLIPS: Final[Mapping[float, tuple[str, str]]] = MappingProxyType(
    {
        1000.0: ("1000 times", "a decimal sign was lost, or the unit is a thousand times smaller"),
        100.0: ("100 times", "a dilution was applied twice, or a decimal comma was lost"),
        10.0: ("10 times", "a dilution was counted that was not made, or a decimal was lost"),
        0.1: ("1/10 of", "a dilution was left out, or the unit is ten times larger"),
        0.01: ("1/100 of", "a share stands where per cent is meant, or a dilution was left out"),
        0.001: ("1/1000 of", "the unit is a thousand times larger"),
    }
)
# How near the middle of a file's ratios lies to a slip's own, and each of them to the middle.
_NEAR, _TOGETHER = log(1.35), log(3.0)
_ALL_BUT_FEW: Final = 0.8
# Fewer lots can lie off together by chance.
_FEWEST_LOTS: Final = 3
_NOTHING: Final = Range(middle=np.nan, lowest=-np.inf, highest=np.inf, lots=0)
_REMEDY: Final = (
    "Compare the unit, the decimal sign and the dilutions with the source's own report, and correct"
    " the cell on Intake; if the value was checked and is right, say so there, and it is stored."
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compared:
    """Results beside what is usual for their materials, one line a result.

    Attributes
    ----------
    ratio : shape (results,)
        To the middle of what is usual; NaN where nothing is, or no value was found.
    outside : shape (results,)
        Whether it lies where the material never did.
    facts
        Columns characteristic, stated, middle, unit, lots, material of those outside.
    """

    ratio: NDArray[np.float64]
    outside: NDArray[np.bool_]
    facts: pd.DataFrame


def hold_implausible(results: pd.DataFrame, compared: Compared | None, holds: Holds) -> None:
    """Hold the rows with a value that lies far outside what their material shows.

    Parameters
    ----------
    results
        Derived, indexed by source row.
    """
    if compared is None:
        return
    codes, distinct = _together(results["characteristic"], results["method"])
    for code, (characteristic, _) in enumerate(distinct):
        _hold_whole(results["lot"], compared.ratio, codes == code, characteristic, holds)
    holds.add(
        pd.Series(compared.outside, index=results.index)[compared.outside],
        IMPLAUSIBLE,
        about=compared.facts,
        reason=told,
        remedy=_REMEDY,
    )


def told(
    characteristic: str, stated: float, middle: float, unit: str, lots: float, material: str
) -> str:
    """How far a value lies from what its material shows, and from how many lots that is known."""
    return (
        f"{characteristic} {written(stated, unit=unit)} is {times(stated / middle)} what this"
        f" material shows (about {written(middle, unit=unit)}, from {lots:.0f} lots of {material});"
        " is the unit right?"
    )


def times(ratio: float) -> str:
    """A ratio in words: ``"98 times"``, ``"1/40 of"``."""
    size = float(f"{max(ratio, 1.0 / ratio):.2g}")
    return f"{size:,g} times" if ratio >= 1.0 else f"1/{size:,g} of"


def materials_of(lot: pd.Series, usual: Usual, lots: pd.DataFrame) -> pd.Series:
    """The material of the lot that each row names; nothing where nobody knows it."""
    announced = dict(zip(lots["lot"], lots["material"], strict=True))
    return mapped(lot, {**announced, **usual.materials})


def compared(results: pd.DataFrame, usual: Usual, lots: pd.DataFrame) -> Compared | None:
    """Results beside what is usual; None if nothing is known of any.

    Parameters
    ----------
    results
        Derived, indexed by source row.
    lots
        What the file itself announces.
    """
    if results.empty or not usual.ranges:
        return None
    material = materials_of(results["lot"], usual, lots)
    codes, distinct = _together(material, results["characteristic"], results["basis"])
    known = [usual.ranges.get((one[0], one[1], one[2]), _NOTHING) for one in distinct]
    middle, lowest, highest, lots_known = (
        np.array([getattr(one, name) for one in known], dtype=np.float64)[codes]
        for name in ("middle", "lowest", "highest", "lots")
    )
    low, high = results["value_low"].to_numpy(), results["value_high"].to_numpy()
    stated = np.where(np.isfinite(high), high, low)
    ratio = np.where(stated > 0.0, stated / middle, np.nan)
    outside = np.isfinite(ratio) & ((high < lowest) | (low > highest))
    # A source that says "less than" claims no value; a number below what the method can quantify
    # does, whatever the method makes of it.
    outside[outside] &= (low > 0.0)[outside] | ~_says_less(results["reading_text"][outside])
    facts = pd.DataFrame(
        {
            "characteristic": results["characteristic"][outside],
            "stated": stated[outside],
            "middle": middle[outside],
            "unit": results["unit"][outside],
            "lots": lots_known[outside],
            "material": material[outside],
        }
    )
    return Compared(ratio=np.where(low > 0.0, ratio, np.nan), outside=outside, facts=facts)


def _says_less(texts: pd.Series) -> NDArray[np.bool_]:
    return ~texts.astype("str").str.match("[0-9]").to_numpy(dtype=bool)


def _together(*columns: pd.Series) -> tuple[NDArray[np.int64], list[tuple[str, ...]]]:
    """A number for each line by its texts, and the texts of each number."""
    codes = np.zeros(len(columns[0]), dtype=np.int64)
    distinct: list[tuple[str, ...]] = [()]
    for column in columns:
        if isinstance(column.dtype, pd.CategoricalDtype):
            mine, names = column.cat.codes.to_numpy(), column.cat.categories.tolist()
        else:
            mine, named = pd.factorize(column)
            names = list(named)
        # Nothing has the code -1, and its own place after all names.
        size = len(names) + 1
        codes = codes * size + np.where(mine < 0, len(names), mine)
        distinct = [(*one, str(name)) for one in distinct for name in (*names, "")]
    return codes, distinct


def _hold_whole(
    lot: pd.Series,
    ratio: NDArray[np.float64],
    mine: NDArray[np.bool_],
    characteristic: str,
    holds: Holds,
) -> None:
    """Hold all values of one characteristic and method if they lie off by one power of ten."""
    known = mine & np.isfinite(ratio)
    if not known.any():
        return
    middle = float(np.log(np.median(ratio[known])))
    nearest = min(_SLIPS, key=lambda one: abs(middle - log(one)))
    if abs(middle - log(nearest)) > _NEAR:
        return
    near = known.copy()
    near[known] = np.abs(np.log(ratio[known]) - middle) < _TOGETHER
    count, every = int(near.sum()), int(known.sum())
    if count < _ALL_BUT_FEW * every or lot[near].nunique() < _FEWEST_LOTS:
        return
    words, cause = _SLIPS[nearest]
    holds.add(
        pd.Series(near, index=lot.index),
        WHOLE_FILE,
        reason=f"{characteristic}: {count} of {every} values in this file are about {words} what"
        f" their materials show, which is a slip of the whole file: {cause}.",
        remedy="Compare unit and decimal sign with the source's own report. If the source profile"
        " is wrong, receive its next version and check the file again; if the values were checked"
        " and are right, say so on Intake.",
    )
