"""What is asked of a blend, in one value that can be compared, kept and solved."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from spc.acceptance import Line, Specification
from spc.answers.stock import HEAT, Larder
from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.problem.stock import Basis, StockLot
from spc.blend.problem.target import Window
from spc.blend.recipe import DEFAULT_GAP, Recipe, recipe
from spc.blend.search.assembly import Aim
from spc.errors import InvalidInput, UnknownName

AIMS: Final[tuple[Aim, ...]] = ("cost", "nearest", "oldest first", "least spread")
# A scale of a weighing room reads far finer than this share of a portion; common practice.
WEIGHING: Final = 0.001


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """A limit of another characteristic than heat.

    Attributes
    ----------
    basis
        As the specification has it; empty where water does not matter.
    odds
        Chance, at least, that the blend lies inside; None if the best estimate is enough.
    """

    characteristic: str
    unit: str
    lower: float | None
    upper: float | None
    basis: str = ""
    odds: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BlendOrder:
    """What is asked of a blend.

    Attributes
    ----------
    material
        What it makes; its specification limits the rest.
    drawn_from
        Materials whose lots may go in.
    batch_kg
        Size.
    heat, lower, upper, unit, basis
        Target of heat and its window, in the unit and on the basis of the specification.
    odds
        Chance, at least, that the heat lies inside; None if the best estimate is enough.
    limits
        Of other characteristics.
    aim
        What is minimised.
    shares
        Least and most shares.
    most_lots, shelf_life_days, most_result_age_days
        None where nothing is asked.
    opened_first
        Opened bags before whole ones.
    whole_bags
        Whether unopened bags must go in whole; else they are weighed out.
    leave_out
        Lots not to be looked at.
    """

    material: str
    drawn_from: tuple[str, ...]
    batch_kg: float
    heat: float
    lower: float
    upper: float
    unit: str = "SHU"
    basis: Basis = "as-is"
    odds: float | None = None
    limits: tuple[Limit, ...] = ()
    aim: Aim = "cost"
    shares: tuple[ShareLimit, ...] = ()
    most_lots: int | None = None
    shelf_life_days: float | None = None
    most_result_age_days: float | None = None
    opened_first: bool = False
    whole_bags: bool = True
    leave_out: tuple[str, ...] = ()

    @property
    def bases(self) -> dict[str, str]:
        """What is limited, heat first, with the basis of each limit."""
        return {HEAT: self.basis, **{one.characteristic: one.basis for one in self.limits}}

    @property
    def windows(self) -> tuple[Window, ...]:
        """Target of the optimiser, heat first."""
        heat = Window(
            characteristic=HEAT,
            unit=self.unit,
            lower=self.lower,
            upper=self.upper,
            target=self.heat,
            basis=self.basis,
            odds=self.odds,
        )
        return (heat, *(_window(one) for one in self.limits))

    @property
    def rules(self) -> Rules:
        """Rules of the optimiser."""
        return Rules(
            shares=self.shares,
            most_lots=self.most_lots,
            shelf_life_days=self.shelf_life_days,
            most_result_age_days=self.most_result_age_days,
            leave_out=self.leave_out,
            opened_first=self.opened_first,
            weighing=WEIGHING,
        )

    def lots(self, held: Larder) -> Sequence[StockLot]:
        """Lots as the order allows them to be taken."""
        if self.whole_bags:
            return held.lots
        return [replace(lot, bag_kg=None) for lot in held.lots]

    def answered(self, held: Larder, *, gap: float = DEFAULT_GAP) -> Recipe:
        """The best recipe, to a relative distance that need not be closed.

        Raises
        ------
        NoRecipe
            If no blend keeps all that is asked.
        InvalidInput
            If what is asked contradicts itself or a datum is missing.
        SearchStopped
            If the search ended before it found or excluded a recipe.
        """
        return recipe(
            self.lots(held),
            self.windows,
            batch_kg=self.batch_kg,
            rules=self.rules,
            aim=self.aim,
            gap=gap,
        )

    def kept(self) -> dict[str, Any]:
        """What was asked, in plain values for the store."""
        return {
            "drawn from": list(self.drawn_from),
            "heat": self.heat,
            "lower": self.lower,
            "upper": self.upper,
            "unit": self.unit,
            "basis": self.basis,
            "odds": self.odds,
            "aim": self.aim,
            "most lots": self.most_lots,
            "shares": [one.sentence() for one in self.shares],
            "limits": {one.characteristic: [one.lower, one.upper, one.unit] for one in self.limits},
            "odds of limits": {
                one.characteristic: one.odds for one in self.limits if one.odds is not None
            },
        }


def _window(limit: Limit) -> Window:
    return Window(
        characteristic=limit.characteristic,
        unit=limit.unit,
        lower=limit.lower,
        upper=limit.upper,
        basis="dry" if limit.basis == "dry" else "as-is",
        odds=limit.odds,
    )


def newest(specifications: Sequence[Specification], material: str) -> Specification:
    """The specification of a material that was approved last.

    Raises
    ------
    UnknownName
        If the material has none.
    """
    mine = [one for one in specifications if one.material == material]
    if not mine:
        raise UnknownName(
            "specification", material, known=sorted({one.material for one in specifications})
        )
    return max(mine, key=lambda one: one.version)


def from_specification(
    specification: Specification, *, batch_kg: float, heat: float, within: float
) -> BlendOrder:
    """An order for a heat level, all else as the material's specification limits it.

    Parameters
    ----------
    specification
        Of the material that is to be made.
    batch_kg
        Size.
    heat, within
        Target, and half the window as a share of it.

    Raises
    ------
    InvalidInput
        If the specification does not limit heat.
    """
    line = heat_line(specification)
    if line is None:
        raise InvalidInput(
            f"the specification of {specification.material} does not limit heat.",
            where="blend",
            remedy="Add a line for heat to the specification.",
        )
    return BlendOrder(
        material=specification.material,
        drawn_from=(specification.material,),
        batch_kg=batch_kg,
        heat=heat,
        lower=heat * (1.0 - within),
        upper=heat * (1.0 + within),
        unit=line.unit,
        basis="dry" if line.basis == "dry" else "as-is",
        limits=other_limits(specification),
    )


def heat_line(specification: Specification) -> Line | None:
    """The line that limits heat."""
    return next((one for one in specification.lines if one.characteristic == HEAT), None)


def other_limits(specification: Specification) -> tuple[Limit, ...]:
    """Limits of means that a blend must keep beside heat; safety lines are never mixed to."""
    return tuple(
        Limit(
            characteristic=one.characteristic,
            unit=one.unit,
            lower=one.lower,
            upper=one.upper,
            basis=one.basis,
        )
        for one in specification.lines
        if one.characteristic != HEAT
        and not one.safety
        and one.requirement == "average"
        and (one.lower is not None or one.upper is not None)
    )
