"""Rows that say what nothing can be: more heat than the pure compound has."""

from math import isnan
from typing import Final

import pandas as pd

from spc.derivation import HEAT_UNIT
from spc.digits import written
from spc.heat import PROFILE_FACTORS
from spc.intake.checks.holds import Holds

# SHU of the hottest compound alone: a million mg in a kg.
HOTTEST: Final = 1e6 * max(PROFILE_FACTORS.values())

_SAID: Final = (
    "value_low",
    "reading_unit",
    "cell_dilution",
    "extract_volume_mL",
    "extract_mass_g",
)


def hold_impossible_heat(results: pd.DataFrame, holds: Holds) -> None:
    """Hold the rows whose heat would need more than 1 g of capsaicinoids in 1 g.

    Parameters
    ----------
    results
        Derived, indexed by source row.
    """
    hot = results[results["value_low"] > HOTTEST]
    hot = hot[hot["unit"] == HEAT_UNIT]
    holds.add(
        hot["value_low"] > HOTTEST,
        "impossible-heat",
        about=hot[list(_SAID)],
        reason=_reason,
        remedy=_remedy,
    )


def _reason(value: float, *_: object) -> str:
    return (
        f"The heat comes to {written(value, unit=HEAT_UNIT)}, and pure capsaicin has"
        f" {written(HOTTEST, unit=HEAT_UNIT)}: there would be more than 1 g of it in 1 g."
    )


def _remedy(_: float, unit: str, dilution: float, volume: float, mass: float) -> str:
    given = [] if isnan(dilution) else [f"the dilution in the cell ({dilution:g})"]
    if not isnan(volume / mass):
        given.append(f"the buffer on the portion ({volume:g} mL on {mass:g} g)")
    checked = ", ".join([*given, f"the unit ({unit})"])
    return (
        f"Compare {checked} and the decimal sign of the reading with the laboratory's notes, and"
        " correct on Intake what differs."
    )
