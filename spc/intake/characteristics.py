"""Characteristics: what is measured, in which unit, and what it can be at all."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from math import inf
from types import MappingProxyType
from typing import Final, Literal

from spc import units
from spc.intake.requirements import bad

# By what a unit measures: the highest that can be, in a unit of the kind, and whether zero can be.
# A share is of one whole; pH as in dilute water; activity is that of pure water at most.
_HIGHEST: Final[Mapping[str, tuple[float, str]]] = MappingProxyType(
    {
        "mass fraction": (100.0, "%"),
        "acidity": (14.0, "pH"),
        "water activity": (1.0, "aw"),
    }
)
_ABOVE_ZERO: Final = frozenset(("size",))


@dataclass(frozen=True, slots=True, kw_only=True)
class Characteristic:
    """A measured property: its unit, the scale it is judged on, and whether it is a quantity.

    Attributes
    ----------
    lowest, highest
        What it can be at all, in its unit; None where what its unit measures says enough.
    """

    characteristic: str
    unit: str
    scale: Literal["log", "linear"] = "linear"
    kind: Literal["quantity", "absence"] = "quantity"
    lowest: float | None = None
    highest: float | None = None

    @property
    def extent(self) -> tuple[float, float]:
        """Lowest and highest that it can be, in its unit."""
        kind = units.measures(self.unit)
        highest, unit = _HIGHEST.get(kind, (inf, self.unit))
        return (
            0.0 if self.lowest is None else self.lowest,
            highest * units.factor(unit, to=self.unit) if self.highest is None else self.highest,
        )

    @property
    def can_be_lowest(self) -> bool:
        """Whether the lowest itself can be: no size is zero, and a share may be."""
        return self.lowest is not None or units.measures(self.unit) not in _ABOVE_ZERO


def check_extents(characteristics: Iterable[Characteristic]) -> None:
    """Refuse a characteristic that can be nothing.

    Raises
    ------
    BadCatalogue
        If its lowest lies above its highest.
    """
    for one in characteristics:
        lowest, highest = one.extent
        if not lowest < highest:
            raise bad(
                f"its lowest ({lowest:g}) must lie below its highest ({highest:g} {one.unit}).",
                where=f"characteristic {one.characteristic}",
            )
