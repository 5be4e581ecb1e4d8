"""The worked calculation from a reading to heat: every step named, so that it can be checked."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc import units
from spc.errors import MissingFactor, UnknownUnit
from spc.heat.compounds import MOLAR_MASS, PROFILE_FACTORS, TOTAL_FACTOR, scoville, scoville_profile
from spc.heat.dilution import positive

Values: TypeAlias = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Step:
    """One line of a worked calculation.

    Attributes
    ----------
    name
        What was found, in words.
    formula
        How, with the numbers in place where they are the same for all values.
    value
        The result of the step; shape of the reading.
    unit
        Of `value`.
    """

    name: str
    formula: str
    value: Values
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Chain:
    """A derivation from a reading to a value, step by step; the last step is the value."""

    steps: tuple[Step, ...]

    @property
    def value(self) -> Values:
        """The derived value, in the unit of the last step."""
        return self.steps[-1].value


def chain(
    reading: ArrayLike,
    *,
    unit: str,
    factor: float = TOTAL_FACTOR,
    cell_dilution: ArrayLike | None = None,
    extract: tuple[ArrayLike, ArrayLike] | None = None,
    compound: str = "capsaicin",
) -> Chain:
    """The worked calculation from one reading to heat.

    Parameters
    ----------
    reading : any shape
        In `unit`.
    unit
        A molarity, a mass concentration of the cell, a mass fraction, pungency units, or SHU.
    factor
        SHU per mg/kg of a total, or per pungency unit.
    cell_dilution
        How many times the extract was diluted again before the cell; 1 if it was not.
    extract
        Volume of buffer in mL and mass of material in g.
    compound
        Whose molar mass a molarity is expressed in.

    Returns
    -------
    Chain
        Ending in SHU, on the basis of the reading.

    Raises
    ------
    MissingFactor
        If a reading from the cell comes without a dilution, or its compound has no molar mass.
    UnknownUnit
        If the unit is none of these.
    InvalidInput
        If a volume, mass or dilution is not positive.

    Notes
    -----
    A gap (NaN) in a reading or a dilution stays a gap in the value.
    """
    value = np.asarray(reading, dtype=np.float64)
    kind = units.measures(unit)
    first = Step(name="reading", formula="as the source gives it", value=value, unit=unit)
    match kind:
        case "heat":
            return Chain(steps=(first, *_in_units(value, unit)))
        case "pungency":
            return Chain(steps=(first, _to_heat(value, factor, per="pungency unit")))
        case "mass fraction":
            return Chain(steps=(first, *_from_content(value, unit, factor)))
        case "molarity" | "mass concentration":
            steps = _from_cell(value, unit, cell_dilution, extract, compound)
            return Chain(steps=(first, *steps, _to_heat(steps[-1].value, factor)))
    raise UnknownUnit(unit, known=_HEAT_UNITS, where="heat")


_HEAT_UNITS: Final = ("µmol/L", "mg/L", "mg/kg", "µg/g", "mg/g", "pungency units", "SHU", "kSHU")


def _in_units(value: NDArray[np.float64], unit: str) -> Sequence[Step]:
    """Heat in SHU where it was given in thousands of them."""
    if unit == "SHU":
        return ()
    size = units.factor(unit, to="SHU")
    return (Step(name="heat", formula=f"reading × {size:g}", value=value * size, unit="SHU"),)


def profile_chain(
    parts: Mapping[str, ArrayLike],
    *,
    unit: str,
    factors: Mapping[str, float] = PROFILE_FACTORS,
) -> Chain:
    """The worked calculation from the contents of single compounds to heat.

    Parameters
    ----------
    parts
        Content by compound, in `unit`.
    unit
        A mass fraction.
    factors
        SHU per mg/kg by compound.

    Returns
    -------
    Chain
        A step for each compound, then their sum in SHU.

    Raises
    ------
    MissingFactor
        If a compound has no factor.
    UnknownUnit
        If the unit is not a mass fraction.
    InvalidInput
        If no compound is given.
    """
    size = units.factor(unit, to="mg/kg")
    content = {
        compound: np.asarray(value, dtype=np.float64) * size for compound, value in parts.items()
    }
    total = scoville_profile(content, factors=factors)
    steps = [
        Step(
            name=compound,
            formula=f"content × {factors[compound]:g} SHU per mg/kg",
            value=value * factors[compound],
            unit="SHU",
        )
        for compound, value in content.items()
    ]
    return Chain(
        steps=(*steps, Step(name="heat", formula="sum of the compounds", value=total, unit="SHU"))
    )


def _from_content(value: Values, unit: str, factor: float) -> tuple[Step, ...]:
    content = value * units.factor(unit, to="mg/kg")
    heat = _to_heat(content, factor)
    if unit == "mg/kg":
        return (heat,)
    step = Step(
        name="content",
        formula=f"reading × {units.factor(unit, to='mg/kg'):g}",
        value=content,
        unit="mg/kg",
    )
    return (step, heat)


def _from_cell(
    value: Values,
    unit: str,
    cell_dilution: ArrayLike | None,
    extract: tuple[ArrayLike, ArrayLike] | None,
    compound: str,
) -> tuple[Step, ...]:
    if cell_dilution is None:
        raise MissingFactor("the dilution in the cell (1 if there was none)", where="heat")
    if extract is None:
        raise MissingFactor("the extract's volume in mL and mass in g", where="heat")
    second = positive(cell_dilution, "cell_dilution")
    volume, mass = positive(extract[0], "volume_mL"), positive(extract[1], "mass_g")
    in_cell = _mass_concentration(value, unit, compound)
    in_extract = in_cell.value * second
    content = in_extract * (volume / mass)
    return (
        in_cell,
        Step(
            name="in the extract",
            formula=f"× {_written(second)} (dilution in the cell)",
            value=in_extract,
            unit="mg/L",
        ),
        Step(
            name="content",
            formula=f"× {_written(volume)} mL / {_written(mass)} g (extract dilution)",
            value=content,
            unit="mg/kg",
        ),
    )


def _mass_concentration(value: Values, unit: str, compound: str) -> Step:
    if units.measures(unit) == "mass concentration":
        size, formula = (
            units.factor(unit, to="mg/L"),
            f"reading × {units.factor(unit, to='mg/L'):g}",
        )
    elif compound in MOLAR_MASS:
        size = units.factor(unit, to="mmol/L") * MOLAR_MASS[compound]
        formula = f"× {MOLAR_MASS[compound]:.3f} g/mol ({compound})"
    else:
        raise MissingFactor(f"the molar mass of {compound}", where="heat")
    return Step(name="in the cell", formula=formula, value=value * size, unit="mg/L")


def _to_heat(content: Values, factor: float, *, per: str = "mg/kg") -> Step:
    return Step(
        name="heat",
        formula=f"× {factor:g} SHU per {per}",
        value=scoville(content, factor=factor),
        unit="SHU",
    )


def _written(values: Values) -> str:
    return f"{values.item():g}" if values.size == 1 else "its own"
