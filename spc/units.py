"""Units as laboratories write them, and the factors between those that measure the same."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from spc.errors import UnknownUnit

# Unit -> (what it measures, size in the first unit of that group).
_SIZE: Final[Mapping[str, tuple[str, float]]] = MappingProxyType(
    {
        "mol/L": ("molarity", 1e6),
        "mmol/L": ("molarity", 1e3),
        "µmol/L": ("molarity", 1.0),
        "mg/L": ("mass concentration", 1.0),
        "µg/mL": ("mass concentration", 1.0),
        "µg/kg": ("mass fraction", 1e-3),
        "ppb": ("mass fraction", 1e-3),
        "mg/kg": ("mass fraction", 1.0),
        "µg/g": ("mass fraction", 1.0),
        "ppm": ("mass fraction", 1.0),
        "mg/g": ("mass fraction", 1e3),
        "g/kg": ("mass fraction", 1e3),
        "g/100 g": ("mass fraction", 1e4),
        "%": ("mass fraction", 1e4),
        "SHU": ("heat", 1.0),
        "kSHU": ("heat", 1e3),
        "pungency units": ("pungency", 1.0),
        "ASTA units": ("colour", 1.0),
        "in 25 g": ("presence in 25 g", 1.0),
        "pH": ("acidity", 1.0),
        "aw": ("water activity", 1.0),
        "CFU/g": ("count", 1.0),
        "µm": ("size", 1.0),
        "mm": ("size", 1e3),
    }
)

KNOWN: Final = tuple(_SIZE)

# The micro sign and the Greek letter look alike; one of them is kept. "u" is the typewriter form.
_SPELLINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "umol/L": "µmol/L",
        "uM": "µmol/L",
        "µM": "µmol/L",
        "ug/g": "µg/g",
        "ug/kg": "µg/kg",
        "cfu/g": "CFU/g",
        "KBE/g": "CFU/g",
        "UFC/g": "CFU/g",
        "um": "µm",
        "a_w": "aw",
    }
)


def spelled(unit: str) -> str:
    """The unit in the one spelling used here; unknown units come back with tidy spaces only.

    Parameters
    ----------
    unit
        As a laboratory writes it.

    Returns
    -------
    str
        One of `KNOWN` where it is one of them.
    """
    tidy = " ".join(unit.replace("\N{GREEK SMALL LETTER MU}", "µ").split())
    return _SPELLINGS.get(tidy, tidy)


def measures(unit: str) -> str:
    """What a unit measures: ``"molarity"``, ``"mass fraction"``, ``"heat"`` ...

    Parameters
    ----------
    unit
        One of `KNOWN`.

    Returns
    -------
    str
        The same for all units that can be converted into each other.

    Raises
    ------
    UnknownUnit
        If the unit is not one of `KNOWN`.
    """
    if unit not in _SIZE:
        raise UnknownUnit(unit, known=KNOWN, where="unit")
    return _SIZE[unit][0]


def factor(unit: str, *, to: str) -> float:
    """What a value in `unit` is multiplied by to be in unit `to`.

    Parameters
    ----------
    unit, to
        Two of `KNOWN` that measure the same.

    Returns
    -------
    float
        `to` per `unit`.

    Raises
    ------
    UnknownUnit
        If either is not known, or the two do not measure the same.
    """
    if measures(unit) != measures(to):
        alike = [name for name in KNOWN if measures(name) == measures(to)]
        raise UnknownUnit(unit, known=alike, where=f"conversion to {to}")
    return _SIZE[unit][1] / _SIZE[to][1]
