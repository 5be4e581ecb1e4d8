"""Capsaicinoid chemistry: from the molarity in a sensor cell to Scoville heat units.

A heat value is derived, never measured: molarity in the cell, second dilution, extract dilution,
content, heat.  `chain` and `profile_chain` name every step, so that the derivation can be printed
and checked by hand.
"""

from spc.heat.basis import as_is_basis, dry_basis
from spc.heat.calculation import Chain, Step, chain, profile_chain
from spc.heat.compounds import (
    MOLAR_MASS,
    PROFILE_FACTORS,
    PUNGENCY_FACTOR,
    PUNGENCY_WEIGHT,
    TOTAL_FACTOR,
    pungency_units,
    scoville,
    scoville_profile,
)
from spc.heat.dilution import extract_molarity, mass_fraction

__all__ = [
    "MOLAR_MASS",
    "PROFILE_FACTORS",
    "PUNGENCY_FACTOR",
    "PUNGENCY_WEIGHT",
    "TOTAL_FACTOR",
    "Chain",
    "Step",
    "as_is_basis",
    "chain",
    "dry_basis",
    "extract_molarity",
    "mass_fraction",
    "profile_chain",
    "pungency_units",
    "scoville",
    "scoville_profile",
]
