"""Capsaicinoids: their molar masses, and the heat each is worth."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.errors import InvalidInput, MissingFactor

# Standard atomic weights, abridged (IUPAC 2021), g/mol.
_ATOM: Final = MappingProxyType({"C": 12.011, "H": 1.008, "N": 14.007, "O": 15.999})


def _molar_mass(*, carbon: int, hydrogen: int) -> float:
    """Molar mass in g/mol of a capsaicinoid, all of which hold one nitrogen and three oxygens."""
    return carbon * _ATOM["C"] + hydrogen * _ATOM["H"] + _ATOM["N"] + 3 * _ATOM["O"]


MOLAR_MASS: Final[Mapping[str, float]] = MappingProxyType(
    {
        "capsaicin": _molar_mass(carbon=18, hydrogen=27),
        "dihydrocapsaicin": _molar_mass(carbon=18, hydrogen=29),
        "nordihydrocapsaicin": _molar_mass(carbon=17, hydrogen=27),
        "homocapsaicin": _molar_mass(carbon=19, hydrogen=29),
        "homodihydrocapsaicin": _molar_mass(carbon=19, hydrogen=31),
        "nonivamide": _molar_mass(carbon=17, hydrogen=27),
    }
)

# SHU per mg/kg of each compound, as the liquid-chromatography methods use them; they reproduce all
# eleven rows of González-Zamora et al., J. Chemistry 2015, 709150, Table 1.
PROFILE_FACTORS: Final[Mapping[str, float]] = MappingProxyType(
    {"capsaicin": 16.1, "dihydrocapsaicin": 16.1, "nordihydrocapsaicin": 9.3}
)

# SHU per mg/kg of a total: rules of the trade, which differ by 7 %, so each method states its own.
TOTAL_FACTOR: Final = 16.0
PUNGENCY_FACTOR: Final = 15.0
# Weight of dihydrocapsaicin in a pungency unit (ASTA 1985, after Collins et al. 1995).
PUNGENCY_WEIGHT: Final = 0.82


def scoville(mg_per_kg: ArrayLike, *, factor: float = TOTAL_FACTOR) -> NDArray[np.float64]:
    """Heat in SHU of a total capsaicinoid content.

    Parameters
    ----------
    mg_per_kg : any shape
        Total content.
    factor
        SHU per mg/kg; 16, 15 and 16.1 are all in use, so state the method's own.

    Returns
    -------
    array
        SHU, on the basis of the content.
    """
    return np.asarray(mg_per_kg, dtype=np.float64) * factor


def scoville_profile(
    mg_per_kg: Mapping[str, ArrayLike], *, factors: Mapping[str, float] = PROFILE_FACTORS
) -> NDArray[np.float64]:
    """Heat in SHU of a profile of compounds.

    Parameters
    ----------
    mg_per_kg
        Content by compound.
    factors
        SHU per mg/kg by compound.

    Returns
    -------
    array
        SHU, on the basis of the contents.

    Raises
    ------
    MissingFactor
        If a compound has no factor.
    InvalidInput
        If no compound is given.

    References
    ----------
    González-Zamora et al., J. Chemistry 2015, 709150: the factors that reproduce its Table 1.
    """
    if not mg_per_kg:
        raise InvalidInput(
            "no compound is given.", where="heat", remedy="State at least one content in mg/kg."
        )
    for compound in mg_per_kg:
        if compound not in factors:
            raise MissingFactor(f"the SHU factor of {compound}", where="heat")
    parts = [
        np.asarray(content, dtype=np.float64) * factors[compound]
        for compound, content in mg_per_kg.items()
    ]
    return np.asarray(sum(parts[1:], start=parts[0]))


def pungency_units(capsaicin: ArrayLike, dihydrocapsaicin: ArrayLike) -> NDArray[np.float64]:
    """Pungency units (capsaicin-equivalent mg/kg of dry pepper) of two contents in mg/kg.

    Parameters
    ----------
    capsaicin, dihydrocapsaicin : any shape
        Contents on dry mass, mg/kg.

    Returns
    -------
    array
        Pungency units; times 15 they give SHU.

    References
    ----------
    Collins et al., HortScience 30 (1995) 137-139 (seen in a secondary account).
    """
    first = np.asarray(capsaicin, dtype=np.float64)
    return first + PUNGENCY_WEIGHT * np.asarray(dihydrocapsaicin, dtype=np.float64)
