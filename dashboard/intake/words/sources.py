"""What the columns of a source's file mean, in words."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from spc.intake import SourceProfile
from spc.intake.profiles.profile import Measure

_NAMED: Final = 2

# By the names that a source profile uses.
MEANINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "lot": "our lot number",
        "sample": "bag or sample",
        "replicate": "number of the reading",
        "measured_at": "when it was measured",
        "operator": "who measured",
        "instrument": "instrument",
        "sensor_batch": "batch of sensor strips",
        "extract_mass_g": "mass of the portion, g",
        "extract_volume_mL": "volume of buffer, mL",
        "cell_dilution": "dilution in the cell, times",
        "material": "material of the lot",
        "supplier": "supplier of the lot",
        "supplier_lot": "supplier's own lot number",
        "received_at": "when the lot was received",
        "harvest_year": "crop year",
        "packages": "number of packages",
        "package_kg": "mass of a package, kg",
        "price_per_kg": "price per kg",
        "decision": "decision on the lot",
        "decided_at": "when it was decided",
        "by": "who decided",
        "role": "role of who decided",
        "reason": "reason of the decision",
        "second_person": "second person",
    }
)


def columns(profile: SourceProfile) -> dict[str, str]:
    """Header to what the profile takes it for; headers that it does not read are left out."""
    told = {
        header: MEANINGS[meaning]
        for group in (profile.columns, profile.lots, profile.decisions)
        for meaning, headers in group.items()
        for header in headers
    }
    said: dict[str, list[str]] = {}
    for measure in profile.measures:
        for header, words in _of_measure(measure).items():
            said.setdefault(header, []).append(words)
    return told | {header: _together(words) for header, words in said.items() if header}


def _of_measure(measure: Measure) -> dict[str, str]:
    what = measure.characteristic
    return {
        **dict.fromkeys(measure.where, "names what was measured, or how"),
        measure.reading: f"{what} by {measure.method}",
        measure.unit_column: f"unit of {what}",
        measure.printed: f"{what} as printed",
        measure.printed_total: f"sum for {what} as printed",
        **{header: f"{part}, for {what}" for part, header in measure.parts.items()},
    }


def _together(words: list[str]) -> str:
    """What one column is for several measures: of a long table it is many things."""
    different = list(dict.fromkeys(words))
    more = len(different) - _NAMED
    return ", ".join(different[:_NAMED]) + (f" and {more} more" if more > 0 else "")


def column(header: str, meanings: Mapping[str, str]) -> str:
    """A column by its header and its meaning."""
    return f"{header} ({meanings.get(header, 'not read')})"
