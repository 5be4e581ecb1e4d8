"""What a supplier's scorecard says in words."""

from typing import Final

import pandas as pd

from dashboard.frame.words import count, day
from spc.answers.cost import COMMON_FACTOR
from spc.compare.between_suppliers.shares import CountedShare
from spc.digits import percent

HOW: Final = (
    "Heat by our own method with most lots, one value a lot. Spreads are coefficients of variation,"
    " between lots drawn towards those of all suppliers of the material; intervals at 95 %.",
    "Drift compares the newest crop with the earlier ones (Welch). Certificates are held against"
    " own results of the same lots (Bland & Altman). The share accepted has its exact interval"
    " (Clopper & Pearson). Capability is withheld while lots are few or unsteady.",
    "Cost is all money paid over all heat bought, both as bought, heat brought to"
    f" {COMMON_FACTOR:g} SHU per mg/kg; a thousand heat units are 1 000 SHU in one kilogram.",
)


def delivered(lots: pd.DataFrame, accepted: CountedShare | None) -> str:
    """How much was delivered since when, and what part of it was accepted."""
    materials = lots["material"].nunique()
    first = (
        f"{count(len(lots), 'lot')} of {count(materials, 'material')} from"
        f" {day(lots['received_at'].min())} to {day(lots['received_at'].max())}."
    )
    if accepted is None:
        return f"{first} None is decided yet."
    return f"{first} {share(accepted)}"


def share(accepted: CountedShare) -> str:
    """What part of the lots decided was accepted, with its exact interval."""
    ends = f"{percent(accepted.interval.low)} to {percent(accepted.interval.high)}"
    return (
        f"{accepted.counted} of {count(accepted.of, 'lot')} decided were accepted without"
        f" condition: {percent(accepted.share)} ({ends}, exact at"
        f" {100 * accepted.confidence:.0f} %)."
    )
