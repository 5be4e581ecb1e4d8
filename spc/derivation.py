"""From readings as a source gives them to values in the characteristic's unit.

Intake derives with this when a result is stored, and verification derives again with the same
function, so that a stored value can always be traced to its reading.
"""

import json
from collections.abc import Mapping
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc import heat, units
from spc.errors import UnknownUnit
from spc.heat import Chain, Step

HEAT_UNIT: Final = "SHU"
TOTAL: Final = "total"
NO_PARTS: Final = ""

# What of a result the derivation depends on.
INPUTS: Final = (
    "reading",
    "qualifier",
    "reading_unit",
    "parts",
    "extract_volume_mL",
    "extract_mass_g",
    "cell_dilution",
    "factors",
    "unit",
)


def derive(results: pd.DataFrame) -> pd.DataFrame:
    """Values of many results, as the interval in which each lies.

    Parameters
    ----------
    results
        Columns as in `INPUTS`: `reading` with `qualifier` (``""``, ``"<"`` or ``">"``) in
        `reading_unit`, or `parts` as JSON of compound to [qualifier, content]; dilutions;
        `factors` as JSON; `unit` of the value.

    Returns
    -------
    DataFrame
        Columns `value_low` and `value_high` in `unit`, indexed as `results`; equal when exact,
        (0, x) below a quantification limit, (x, inf) above a calibrated range.

    Raises
    ------
    MissingFactor
        If a reading from a cell has no dilution.
    UnknownUnit
        If a unit does not lead to the value's.
    InvalidInput
        If a dilution is not positive, or parts name no compound.
    """
    ends = np.full((2, len(results)), np.nan)
    inputs, kinds = results[list(INPUTS)], _kinds(results)
    several = kinds.max(initial=0) > 0
    for kind in range(kinds.max(initial=-1) + 1):
        rows = kinds == kind
        ends[:, rows] = _ends(inputs[rows] if several else inputs)
    return pd.DataFrame({"value_low": ends[0], "value_high": ends[1]}, index=results.index)


def worked(result: Mapping[str, object]) -> Chain:
    """The worked calculation of one result, for people to check by hand.

    Parameters
    ----------
    result
        The inputs of `derive` for one result.

    Returns
    -------
    Chain
        The last step is the value; an open reading is worked at its known end.

    Raises
    ------
    MissingFactor, UnknownUnit, InvalidInput
        As `derive`.
    """
    unit, reading_unit = str(result["unit"]), str(result["reading_unit"])
    factors = json.loads(str(result["factors"]))
    if result["parts"] != NO_PARTS:
        _check_heat(unit)
        parts = {
            compound: np.float64(content)
            for compound, (_, content) in json.loads(str(result["parts"])).items()
        }
        return heat.profile_chain(parts, unit=reading_unit, factors=factors)
    row = pd.DataFrame([dict(result)])
    reading = row["reading"].to_numpy(dtype=np.float64)
    if unit == HEAT_UNIT:
        return _heat_chain(reading, row, reading_unit, factors)
    first = Step(name="reading", formula="as the source gives it", value=reading, unit=reading_unit)
    if reading_unit == unit:
        return Chain(steps=(first,))
    size = units.factor(reading_unit, to=unit)
    return Chain(
        steps=(first, Step(name="value", formula=f"× {size:g}", value=reading * size, unit=unit))
    )


def ends_of(
    reading: NDArray[np.float64], qualifier: NDArray[np.str_] | pd.Series
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The interval in which the truth of each reading lies.

    Parameters
    ----------
    reading, qualifier : shape (readings,)
        The reading as given, with ``""``, ``"<"`` or ``">"`` before it.

    Returns
    -------
    low, high : shape (readings,)
        In the unit of the reading: equal, (0, x), or (x, inf).
    """
    low = np.where(qualifier == "<", 0.0, reading)
    high = np.where(qualifier == ">", np.inf, reading)
    return low, high


def _kinds(results: pd.DataFrame) -> NDArray[np.int64]:
    """A number for each result, the same for those that are derived alike."""
    parts, distinct = pd.factorize(results["parts"])
    # Rows of one unit can report different compounds, so those are part of what makes rows alike.
    compounds, _ = pd.factorize(pd.Series([_compounds(one) for one in distinct], dtype="str"))
    kinds = compounds[parts]
    for key in ("unit", "reading_unit", "factors"):
        codes, _ = pd.factorize(results[key], use_na_sentinel=False)
        if codes.any():
            kinds, _ = pd.factorize(kinds * (codes.max() + 1) + codes)
    return np.asarray(kinds, dtype=np.int64)


def _ends(group: pd.DataFrame) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Both ends of the values of results that are derived alike."""
    first = group.iloc[0]
    derivation = _from_readings if first["parts"] == NO_PARTS else _from_parts
    return derivation(
        group, str(first["reading_unit"]), str(first["unit"]), json.loads(str(first["factors"]))
    )


def _from_readings(
    group: pd.DataFrame, reading_unit: str, unit: str, factors: Mapping[str, float]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    low, high = ends_of(group["reading"].to_numpy(dtype=np.float64), group["qualifier"])
    if unit != HEAT_UNIT:
        size = units.factor(reading_unit, to=unit)
        return low * size, high * size
    return (
        _heat_chain(low, group, reading_unit, factors).value,
        _heat_chain(high, group, reading_unit, factors).value,
    )


def _heat_chain(
    reading: NDArray[np.float64],
    group: pd.DataFrame,
    reading_unit: str,
    factors: Mapping[str, float],
) -> Chain:
    volume = group["extract_volume_mL"].to_numpy(dtype=np.float64)
    mass = group["extract_mass_g"].to_numpy(dtype=np.float64)
    second = group["cell_dilution"].to_numpy(dtype=np.float64)
    pungency = units.measures(reading_unit) == "pungency"
    return heat.chain(
        reading,
        unit=reading_unit,
        factor=factors.get(TOTAL, heat.PUNGENCY_FACTOR if pungency else heat.TOTAL_FACTOR),
        cell_dilution=None if np.isnan(second).any() else second,
        extract=None if np.isnan(volume).any() or np.isnan(mass).any() else (volume, mass),
    )


def _from_parts(
    group: pd.DataFrame, reading_unit: str, unit: str, factors: Mapping[str, float]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    _check_heat(unit)
    decoded = [json.loads(text) for text in group["parts"]]
    low: dict[str, NDArray[np.float64]] = {}
    high: dict[str, NDArray[np.float64]] = {}
    for compound in decoded[0]:
        content = np.array([one[compound][1] for one in decoded], dtype=np.float64)
        mark = np.array([one[compound][0] for one in decoded], dtype=np.str_)
        low[compound], high[compound] = ends_of(content, mark)
    return (
        heat.profile_chain(low, unit=reading_unit, factors=factors).value,
        heat.profile_chain(high, unit=reading_unit, factors=factors).value,
    )


def _compounds(parts: str) -> str:
    """The names in a text of parts, as one key."""
    return NO_PARTS if parts == NO_PARTS else json.dumps(list(json.loads(parts)))


def _check_heat(unit: str) -> None:
    """A sum over compounds weighted by their factors is heat, whatever unit is asked for."""
    if unit != HEAT_UNIT:
        raise UnknownUnit(unit, known=(HEAT_UNIT,), where="heat of single compounds")
