"""Results that a person types in: a sheet for one method, as a file and the profile that reads it.

A typed sheet is received like any other file, so its text is kept as it was typed and the same
checks are made of it.
"""

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

import tomli_w

from spc import units
from spc.derivation import TOTAL
from spc.errors import UnknownUnit
from spc.intake.methods import MeasuringMethod

# Meaning to header: what stands around every reading, and what only a diluted sample has.
ALWAYS: Final[Mapping[str, str]] = {
    "lot": "Lot",
    "sample": "Sample",
    "replicate": "Test",
    "measured_at": "Measured (UTC)",
    "operator": "Operator",
    "instrument": "Instrument",
}
DILUTED: Final[Mapping[str, str]] = {
    "sensor_batch": "Sensor batch",
    "extract_mass_g": "Portion (g)",
    "extract_volume_mL": "Buffer (mL)",
    "cell_dilution": "Cell dilution",
}
TIMES: Final = "%Y-%m-%d %H:%M"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What the readings of one sheet are.

    Attributes
    ----------
    method
        That measured them.
    unit, basis
        Of every reading; one of `reading_units`, and as in a source profile.
    """

    method: MeasuringMethod
    unit: str
    basis: str

    @property
    def name(self) -> str:
        """Of its source profile."""
        return f"by hand: {self._what}"

    @property
    def around(self) -> dict[str, str]:
        """Meaning to header of what stands around the readings."""
        diluted = _measures(self.unit) in ("molarity", "mass concentration")
        return {**ALWAYS, **(DILUTED if diluted else {})}

    @property
    def readings(self) -> dict[str, str]:
        """Compound to header; one header without a compound where the method adds nothing up."""
        compounds = [one for one in self.method.factors if one != TOTAL]
        if compounds:
            return {one: f"{one}: {self._what}" for one in compounds}
        return {"": self._what}

    @property
    def headers(self) -> tuple[str, ...]:
        """Every column, the readings after what says whose they are."""
        around = list(self.around.values())
        first = len(("lot", "sample", "replicate"))
        return (*around[:first], *self.readings.values(), *around[first:])

    @property
    def _what(self) -> str:
        how = ", ".join(filter(None, (self.unit, self.basis)))
        return f"{self.method.characteristic} by {self.method.method} ({how})"

    def profile(self, version: int) -> str:
        """The text of the source profile that reads it."""
        readings = self.readings
        told = {"reading": readings[""]} if "" in readings else {"parts": readings}
        measure = {
            "characteristic": self.method.characteristic,
            "method": self.method.method,
            "unit": self.unit,
            "basis": self.basis,
            **told,
        }
        return tomli_w.dumps(
            {
                "profile": self.name,
                "version": version,
                "source": "Typed in by a person.",
                # A row is typed for each reading.
                "unnumbered": "replicates",
                "file": {"date_format": TIMES},
                "columns": self.around,
                "measure": [measure],
            }
        )

    def content(self, rows: Iterable[Mapping[str, str]]) -> bytes:
        """The rows as a file.

        Parameters
        ----------
        rows
            Header to what was typed; a row in which nothing was typed is none.
        """
        text = io.StringIO(newline="")
        writer = csv.writer(text, lineterminator="\n")
        writer.writerow(self.headers)
        for row in rows:
            cells = [row.get(header, "").strip() for header in self.headers]
            if any(cells):
                writer.writerow(cells)
        return text.getvalue().encode()


def reading_units(method: MeasuringMethod) -> list[str]:
    """Units that readings of a method can be typed in, its own first."""
    kind = _measures(method.reading_unit)
    alike = [one for one in units.KNOWN if kind and units.measures(one) == kind]
    return list(dict.fromkeys([method.reading_unit, *alike]))


def _measures(unit: str) -> str:
    """What a unit measures; nothing of one that only names a portion, such as ``"in 25 g"``."""
    try:
        return units.measures(unit)
    except UnknownUnit:
        return ""
