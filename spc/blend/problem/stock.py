"""What lies in stock: lots with their kilograms, their price and what was measured of them."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Final, Literal

from spc.errors import InvalidInput

Basis = Literal["as-is", "dry"]
MOISTURE: Final = "moisture"


@dataclass(frozen=True, slots=True, kw_only=True)
class Assay:
    """One characteristic of one lot, as it enters a blend.

    Attributes
    ----------
    value
        Arithmetic mean of the lot by mass, in `unit`.
    standard_uncertainty
        Of the lot's mean, in `unit`, from what is the lot's own: sampling and repeatability.
    unit
        One of `spc.units.KNOWN`.
    basis
        ``"as-is"`` or ``"dry"``.
    method
        Lots measured by the same method share its bias.
    shared_uncertainty
        Standard uncertainty of that bias at this value, in `unit`; no mixing averages it out.
    tests
        Independent test results behind the mean.
    age_days
        Since it was measured; None where no one wrote the day down.
    """

    value: float
    standard_uncertainty: float
    unit: str
    method: str
    basis: Basis = "as-is"
    shared_uncertainty: float = 0.0
    tests: int = 1
    age_days: float | None = None

    def __post_init__(self) -> None:
        sizes = (self.standard_uncertainty, self.shared_uncertainty)
        if not math.isfinite(self.value) or not all(0.0 <= size < math.inf for size in sizes):
            raise InvalidInput(
                f"a value of {self.value:g} with standard uncertainties of {sizes[0]:g} and"
                f" {sizes[1]:g} {self.unit} is not possible.",
                where="assay",
                remedy="Give a finite value, and uncertainties of zero or more in its unit.",
            )
        if self.basis not in ("as-is", "dry"):
            raise InvalidInput(
                f"basis {self.basis!r} is not known.",
                where="assay",
                remedy="State whether the value is as-is or dry; it is never guessed.",
            )
        if self.tests < 1:
            raise InvalidInput(
                f"a mean of {self.tests} tests is not possible.",
                where="assay",
                remedy="Give the number of independent test results behind the mean.",
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class StockLot:
    """A lot that may go into a blend.

    Attributes
    ----------
    code, material, supplier, origin
        Its names.
    price_per_kg
        In the currency of all lots.
    available_kg
        Not yet used and not reserved, opened bag included.
    assays
        By characteristic.  Moisture is the characteristic ``"moisture"``, g/100 g as-is.
    bag_kg
        Content of a whole bag; None for a lot that is weighed out in any amount.
    opened_kg
        Content of the opened bag, weighed out in any amount.  What is neither in the opened bag
        nor fills a whole one is not offered.
    age_days, expires_in_days
        Since it came in, and until it expires; None where not known.
    barred
        Why it may go into no blend: fails a safety line, rejected, on hold.  Empty if it may.
    """

    code: str
    material: str
    supplier: str
    origin: str
    price_per_kg: float
    available_kg: float
    assays: Mapping[str, Assay]
    bag_kg: float | None = None
    opened_kg: float = 0.0
    age_days: float | None = None
    expires_in_days: float | None = None
    barred: str = ""

    def __post_init__(self) -> None:
        amounts = {"available": self.available_kg, "opened": self.opened_kg}
        for name, kilograms in amounts.items():
            if not 0.0 <= kilograms < math.inf:
                raise self._refused(
                    f"{kilograms:g} kg {name} is not possible.",
                    "Count the lot, and release reservations beyond what is there.",
                )
        if self.opened_kg > self.available_kg:
            raise self._refused(
                f"{self.opened_kg:g} kg opened is more than {self.available_kg:g} kg available.",
                "Give the opened bag as a part of the available kilograms.",
            )
        if self.bag_kg is not None and not 0.0 < self.bag_kg < math.inf:
            raise self._refused(
                f"a bag of {self.bag_kg:g} kg is not possible.",
                "Give the content of a whole bag, or none for a lot that is weighed out.",
            )
        if not 0.0 <= self.price_per_kg < math.inf:
            raise self._refused(
                f"a price of {self.price_per_kg:g} per kg is not possible.",
                "Give what a kilogram costs, zero or more.",
            )

    @property
    def loose_kg(self) -> float:
        """Kilograms that can be weighed out in any amount."""
        return self.available_kg if self.bag_kg is None else self.opened_kg

    @property
    def whole_bags(self) -> int:
        """Number of unopened bags."""
        if self.bag_kg is None:
            return 0
        # A hair below a whole bag is that bag: sums of kilograms are rounded.
        return math.floor((self.available_kg - self.opened_kg) / self.bag_kg + 1e-9)

    def _refused(self, what: str, remedy: str) -> InvalidInput:
        return InvalidInput(what, where=f"lot {self.code}", remedy=remedy)


def mixing_assay(assay: Assay, *, within_sigma: float) -> Assay:
    """An assay whose value is a geometric mean, as the arithmetic mean that mixing needs.

    Parameters
    ----------
    assay
        Its value is the geometric mean of the lot, its uncertainties are in unit.
    within_sigma
        Standard deviation of the natural logarithms within the lot, portion to portion.

    Returns
    -------
    Assay
        Value and uncertainties times exp(within_sigma² / 2).

    Raises
    ------
    InvalidInput
        If the spread is negative or not finite.

    Notes
    -----
    A blend holds kilograms, and kilograms add: its heat is the mass-weighted arithmetic mean of
    its lots, whatever the scale on which heat is charted.  A lot whose portions are lognormal has
    an arithmetic mean above its geometric one, by 1 % at a spread of 0.15 and by 5 % at 0.3.  The
    shape within the lot matters for nothing else, since a mixed batch holds all of its portions.

    References
    ----------
    Limpert, Stahel & Abbt (2001), BioScience 51(5), 341-352.
    """
    if not 0.0 <= within_sigma < math.inf:
        raise InvalidInput(
            f"a spread within the lot of {within_sigma:g} is not possible.",
            where="assay",
            remedy="Give the standard deviation of the logarithms, zero or more.",
        )
    lift = math.exp(within_sigma**2 / 2.0)
    return replace(
        assay,
        value=assay.value * lift,
        standard_uncertainty=assay.standard_uncertainty * lift,
        shared_uncertainty=assay.shared_uncertainty * lift,
    )
