"""What is asked of a blend, in one value that can be compared, kept and solved."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from spc.answers.blends.stock import BlendStock
from spc.answers.specified_lines import HEAT
from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.problem.stock import Basis, StockLot
from spc.blend.problem.target import Window
from spc.blend.recipe import DEFAULT_GAP, Recipe, recipe
from spc.blend.search.assembly import Aim

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

    def lots(self, held: BlendStock) -> Sequence[StockLot]:
        """Lots as the order allows them to be taken: in whole bags, or weighed out."""
        if self.whole_bags:
            return held.lots
        return [replace(lot, bag_kg=None) for lot in held.lots]

    def best_recipe(self, held: BlendStock, *, gap: float = DEFAULT_GAP) -> Recipe:
        """The best recipe for what is asked.

        Parameters
        ----------
        held
            What it may draw from.
        gap
            Relative distance to the optimum that need not be closed.

        Returns
        -------
        Recipe

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
