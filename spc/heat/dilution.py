"""From the molarity of an extract to the content of the material, and back."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.errors import InvalidInput
from spc.heat.compounds import MOLAR_MASS


def mass_fraction(
    molarity: ArrayLike,
    *,
    volume_mL: ArrayLike,  # noqa: N803 - the unit is spelled as the standard spells it
    mass_g: ArrayLike,
    molar_mass: float = MOLAR_MASS["capsaicin"],
) -> NDArray[np.float64]:
    """Content of the material in mg/kg from the molarity of its extract.

    Parameters
    ----------
    molarity : any shape
        In the extract, mol/L.
    volume_mL, mass_g
        Extract: volume of buffer and mass of material; 10 mL and 0.1 g are factor 100 mL/g.
    molar_mass
        Of the compound the molarity is expressed in, g/mol.

    Returns
    -------
    array
        Content as-is, mg/kg (= µg/g).

    Raises
    ------
    InvalidInput
        If a volume or a mass is not positive.
    """
    volume, mass = positive(volume_mL, "volume_mL"), positive(mass_g, "mass_g")
    return np.asarray(molarity, dtype=np.float64) * molar_mass * 1e3 * (volume / mass)


def extract_molarity(
    mg_per_kg: ArrayLike,
    *,
    volume_mL: ArrayLike,  # noqa: N803
    mass_g: ArrayLike,
    molar_mass: float = MOLAR_MASS["capsaicin"],
) -> NDArray[np.float64]:
    """Molarity of an extract in mol/L: the inverse of `mass_fraction`.

    Parameters
    ----------
    mg_per_kg : any shape
        Content as-is.
    volume_mL, mass_g, molar_mass
        As in `mass_fraction`.

    Returns
    -------
    array
        mol/L in the extract.

    Raises
    ------
    InvalidInput
        If a volume or a mass is not positive.
    """
    volume, mass = positive(volume_mL, "volume_mL"), positive(mass_g, "mass_g")
    return np.asarray(mg_per_kg, dtype=np.float64) * (mass / volume) / (molar_mass * 1e3)


def positive(value: ArrayLike, name: str) -> NDArray[np.float64]:
    """The values as an array, refused if one is not above zero."""
    values = np.asarray(value, dtype=np.float64)
    if np.any(values <= 0.0):
        raise InvalidInput(
            f"{name} {values[values <= 0.0].flat[0]:g} is not possible.",
            where="heat",
            remedy="Give a value above zero.",
        )
    return values
