"""How a lot is packed, and what a convention of sampling says of it."""

import math
from dataclasses import dataclass
from typing import Final, Literal

from spc.errors import InvalidInput

Form = Literal["whole", "flakes", "powder"]
Convention = Literal[
    "EU mycotoxins", "square root", "square root, arbitration", "variables plan", "bulk plan"
]

# Packages and lot may differ by their tare, not by more than this share.
TARE: Final = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class Packing:
    """How a lot is packed.

    Attributes
    ----------
    lot_kg
        Net mass of the lot.
    packages
        Their number; None where it is not known, or the lot is loose.
    package_kg
        Net mass of one; None where it is not known.
    """

    lot_kg: float
    packages: int | None = None
    package_kg: float | None = None

    def __post_init__(self) -> None:
        given = (self.lot_kg, self.package_kg, self.packages)
        if not all(each is None or 0.0 < each < math.inf for each in given):
            raise InvalidInput(
                f"a lot of {self.lot_kg:g} kg in {self.packages} packages of {self.package_kg} kg"
                " is not possible.",
                where="sampling helper",
                remedy="Give mass and number of packages above zero, or leave them out.",
            )
        if self.packages is None or self.package_kg is None:
            return
        packed = self.packages * self.package_kg
        if abs(packed - self.lot_kg) > TARE * self.lot_kg:
            raise InvalidInput(
                f"{self.packages} packages of {self.package_kg:g} kg are {packed:g} kg, but the"
                f" lot is {self.lot_kg:g} kg.",
                where="sampling helper",
                remedy="Correct the number of packages, their mass, or the mass of the lot.",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class SamplingAdvice:
    """How to sample one lot by one convention.

    Attributes
    ----------
    convention
        That was asked for.
    increments
        Of each sub-lot.
    sub_lots
        Into which the lot is divided; 1 if it is not.
    increment_kg, aggregate_kg
        Mass of one increment, and of all of one sub-lot together; None where the convention
        leaves them open.
    every_nth
        Open every so many packages of a sub-lot, from a random start; None where the packing
        is not known.
    packages_to_open
        Different packages to open in the lot; None where their number is not known.
    can_tell, cannot_tell
        A sentence each: what results on such a sample say, and what they do not.
    source
        Of the convention.
    """

    convention: Convention
    increments: int
    sub_lots: int
    increment_kg: float | None
    aggregate_kg: float | None
    every_nth: int | None
    packages_to_open: int | None
    can_tell: str
    cannot_tell: str
    source: str
