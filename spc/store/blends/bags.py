"""What is there of one lot: whole bags, what lies in opened ones, and what is set aside."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Final, Literal, TypeAlias

from spc.digits import THIN
from spc.errors import InvalidInput

Kind: TypeAlias = Literal["counted", "reserved", "released", "consumed"]

# What float arithmetic leaves behind, kg; no scale on a floor sees it.
DUST: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True)
class Move:
    """One thing that happened to the stock of a lot.

    Attributes
    ----------
    kind
        ``"counted"``: this is what was found.  ``"reserved"`` and ``"released"``: set aside for a
        blend, and given back.  ``"consumed"``: taken away for good.
    kg
        How much; of a count all that was found.
    blend
        For which blend; empty for none.
    bags, bag_kg, opened_kg
        Of a count: whole bags, the kilograms of one, and what lies in opened bags.
    """

    lot: str
    kind: Kind
    kg: float
    blend: str = ""
    bags: int | None = None
    bag_kg: float | None = None
    opened_kg: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Holding:
    """What is there of one lot, in kg.

    Attributes
    ----------
    bags, bag_kg
        Whole bags and the kilograms of one; None while nobody knows how many there are.
    opened_kg
        In opened bags.
    reserved
        Set aside, by blend.
    delivered_kg
        None if the delivery did not say.
    consumed_kg
        Taken away for good.
    adjusted_kg
        What counts found more (less, if negative) than was on the books.
    """

    lot: str
    bags: int | None
    bag_kg: float | None
    opened_kg: float = 0.0
    reserved: Mapping[str, float] = field(default_factory=dict)
    delivered_kg: float | None = None
    consumed_kg: float = 0.0
    adjusted_kg: float = 0.0

    @property
    def there_kg(self) -> float | None:
        """All that is there, set aside or not; None if not known."""
        if self.bags is None:
            return None
        return _swept(self.bags * (self.bag_kg or 0.0) + self.opened_kg)

    @property
    def reserved_kg(self) -> float:
        """All that is set aside."""
        return _swept(math.fsum(self.reserved.values()))

    @property
    def available_kg(self) -> float | None:
        """What can still be planned with; None if not known."""
        there = self.there_kg
        return None if there is None else _swept(there - self.reserved_kg)

    def free(self) -> "Holding":
        """What will be left, whole and opened, once all that is set aside was taken."""
        return self._without(self.reserved_kg)

    def after(self, move: Move) -> "Holding":
        """The holding once a move has happened; not checked."""
        match move.kind:
            case "counted":
                # A first count of what nobody knew adjusts nothing.
                found = 0.0 if self.there_kg is None else move.kg - self.there_kg
                return replace(
                    self,
                    bags=move.bags,
                    bag_kg=move.bag_kg,
                    opened_kg=move.opened_kg or 0.0,
                    adjusted_kg=_swept(self.adjusted_kg + found),
                )
            case "consumed":
                left = self._without(move.kg)
                return replace(left, consumed_kg=_swept(self.consumed_kg + move.kg))
            case "reserved" | "released":
                sign = 1.0 if move.kind == "reserved" else -1.0
                aside = _swept(self.reserved.get(move.blend, 0.0) + sign * move.kg)
                kept = {blend: kg for blend, kg in self.reserved.items() if blend != move.blend}
                return replace(self, reserved=kept | ({move.blend: aside} if aside else {}))

    def checked(self, move: Move) -> "Holding":
        """The holding once a move has happened.

        Raises
        ------
        InvalidInput
            If less than nothing would be left, or nobody knows what is there.
        """
        then = self.after(move)
        if then.available_kg is None:
            raise InvalidInput(
                "nobody knows how much of it is there.",
                where=f"lot {self.lot}",
                remedy="Count it first: the delivery did not say how many packages came.",
            )
        if then.available_kg < 0.0 or min(then.reserved.values(), default=0.0) < 0.0:
            raise self._too_little(move)
        return then

    def _too_little(self, move: Move) -> InvalidInput:
        aside = f"{kilograms(self.reserved_kg)} set aside for blends"
        if move.kind == "counted":
            return InvalidInput(
                f"{kilograms(move.kg)} were counted, less than the {aside}.",
                where=f"lot {self.lot}",
                remedy="Cancel the blends that can no longer be made, then count again.",
            )
        of = f"{kilograms(self.there_kg or 0.0)} there, {aside}"
        return InvalidInput(
            f"{kilograms(move.kg)} were asked for, but {kilograms(self.available_kg or 0.0)} can be"
            f" had ({of}).",
            where=f"lot {self.lot}",
            remedy="Take less of it, or count it again if more is there.",
        )

    def _without(self, kg: float) -> "Holding":
        """Take from what is opened first, and open whole bags for the rest."""
        if self.bags is None:
            return self
        rest = kg - self.opened_kg
        if rest <= DUST or not self.bag_kg:
            return replace(self, opened_kg=_swept(self.opened_kg - kg))
        opened = math.ceil((rest - DUST) / self.bag_kg)
        return replace(self, bags=self.bags - opened, opened_kg=_swept(opened * self.bag_kg - rest))


def delivered(lot: str, *, packages: int | None, package_kg: float | None) -> Holding:
    """The holding of a lot as it came; not known where the delivery leaves one of the two out."""
    if packages is None or not package_kg:
        return Holding(lot=lot, bags=None, bag_kg=None)
    return Holding(
        lot=lot, bags=packages, bag_kg=package_kg, delivered_kg=_swept(packages * package_kg)
    )


def kilograms(kg: float) -> str:
    """Kilograms to the gram, as people read them."""
    return f"{kg:,.3f}".rstrip("0").rstrip(".").replace(",", THIN).replace("-", "−") + " kg"


def _swept(kg: float) -> float:
    return 0.0 if abs(kg) < DUST else kg
