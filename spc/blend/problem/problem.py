"""A blending problem: the lots on offer, what is asked of the blend, and the rules."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from spc.blend.problem.constraints import OPENED_FIRST, STOCK, WHOLE_BAGS, Constraint
from spc.blend.problem.mixing import Mixing, mixing
from spc.blend.problem.rules import Rules, ShareLimit, batch_sentence
from spc.blend.problem.stock import StockLot
from spc.blend.problem.target import Window, plain
from spc.errors import InvalidInput, LotBarred

Floats = NDArray[np.float64]
Target = Window | Sequence[Window]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeftOut:
    """A lot that is not offered, and why.

    Attributes
    ----------
    code, reason
        The lot, and the reason in words.
    """

    code: str
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Problem:
    """A blending problem whose data have been found good.

    Attributes
    ----------
    lots
        On offer: neither barred nor left out.
    mixings
        One for each characteristic of the target, in its order.
    rules
        As given.
    batch_kg
        Size of the batch.
    left_out
        Lots that are not offered.
    """

    lots: tuple[StockLot, ...]
    mixings: tuple[Mixing, ...]
    rules: Rules
    batch_kg: float
    left_out: tuple[LeftOut, ...]

    @property
    def windows(self) -> tuple[Window, ...]:
        """The target, one window for each characteristic."""
        return tuple(each.window for each in self.mixings)

    @property
    def price(self) -> Floats:
        """Price per kilogram, shape (lots,)."""
        return np.array([lot.price_per_kg for lot in self.lots])

    @property
    def loose(self) -> Floats:
        """What can be weighed out of each lot, as a share of the batch, shape (lots,)."""
        return np.array([lot.loose_kg for lot in self.lots]) / self.batch_kg

    @property
    def bag(self) -> Floats:
        """A whole bag of each lot as a share of the batch, 0 for none, shape (lots,)."""
        return np.array([lot.bag_kg or 0.0 for lot in self.lots]) / self.batch_kg

    @property
    def bags(self) -> Floats:
        """Number of whole bags of each lot, shape (lots,)."""
        return np.array([float(lot.whole_bags) for lot in self.lots])

    def members(self, limit: ShareLimit) -> NDArray[np.bool_]:
        """Which lots a limit of share speaks of, shape (lots,)."""
        if limit.of == "each lot":
            return np.ones(len(self.lots), dtype=np.bool_)
        field = "code" if limit.of == "lot" else limit.of
        return np.array([getattr(lot, field) == limit.name for lot in self.lots], dtype=np.bool_)

    def aged(self, kind: str) -> NDArray[np.bool_]:
        """Which lots are too old, shape (lots,): by ``"shelf life"`` or by ``"result age"``."""
        asked = self.rules.shelf_life_days
        if kind == "shelf life":
            return np.array(
                [asked is not None and (lot.expires_in_days or 0.0) < asked for lot in self.lots],
                dtype=np.bool_,
            )
        most = self.rules.most_result_age_days
        return np.array(
            [most is not None and self.result_age(lot) > most for lot in self.lots],
            dtype=np.bool_,
        )

    def result_age(self, lot: StockLot) -> float:
        """Age in days of the oldest result of a lot that the target rests on; NaN if not known."""
        ages = [lot.assays[window.characteristic].age_days for window in self.windows]
        return float(np.max([math.nan if age is None else age for age in ages]))

    def constraints(self) -> tuple[Constraint, ...]:
        """Everything that a recipe must keep, the likeliest to be blamed last."""
        rules, found = self.rules, [*self._odds(), *self._shares()]
        if rules.most_lots is not None:
            lots = "one lot" if rules.most_lots == 1 else f"{rules.most_lots} lots"
            found.append(Constraint(kind="most lots", text=f"at most {lots}"))
        if rules.opened_first:
            found.append(OPENED_FIRST)
        if self.bags.any():
            found.append(WHOLE_BAGS)
        if rules.most_result_age_days is not None:
            text = f"results at most {plain(rules.most_result_age_days)} days old"
            found.append(Constraint(kind="result age", text=text))
        if rules.shelf_life_days is not None:
            text = f"a shelf life of at least {plain(rules.shelf_life_days)} days"
            found.append(Constraint(kind="shelf life", text=text))
        batch = batch_sentence(self.batch_kg, rules.batch_tolerance_kg)
        return (*found, *self._limits(), STOCK, Constraint(kind="batch", text=batch))

    def with_window(self, place: int, window: Window) -> "Problem":
        """The same problem with another window."""
        made = mixing(self.lots, window, weighing=self.rules.weighing)
        return replace(self, mixings=(*self.mixings[:place], made, *self.mixings[place + 1 :]))

    def with_lot(self, lot: StockLot) -> "Problem":
        """The same problem with one lot more."""
        lots = (*self.lots, lot)
        mixings = tuple(mixing(lots, each, weighing=self.rules.weighing) for each in self.windows)
        return replace(self, lots=lots, mixings=mixings)

    def _odds(self) -> list[Constraint]:
        return [
            Constraint(kind="odds", text=window.with_odds(window.odds), place=place)
            for place, window in enumerate(self.windows)
            if window.odds is not None
        ]

    def _limits(self) -> list[Constraint]:
        found = []
        for place, window in enumerate(self.windows):
            if window.lower is not None:
                text = window.at_least(window.lower)
                found.append(Constraint(kind="at least", text=text, place=place))
            if window.upper is not None:
                text = window.at_most(window.upper)
                found.append(Constraint(kind="at most", text=text, place=place))
        return found

    def _shares(self) -> list[Constraint]:
        return [
            Constraint(
                kind="each lot" if limit.of == "each lot" else "share",
                text=limit.sentence(),
                place=place,
            )
            for place, limit in enumerate(self.rules.shares)
        ]


def problem(lots: Sequence[StockLot], target: Target, *, batch_kg: float, rules: Rules) -> Problem:
    """A blending problem, with every datum checked.

    Parameters
    ----------
    lots
        All lots in stock, barred ones included.
    target
        A window, or one for each of several characteristics.
    batch_kg
        Size of the batch, kg.
    rules
        Shares, number of lots, ages, bags, scales.

    Returns
    -------
    Problem

    Raises
    ------
    LotBarred
        If a barred lot is asked for by name.
    InvalidInput
        If a datum is missing, contradicts another or is not possible.
    """
    if not 0.0 < batch_kg < math.inf or rules.batch_tolerance_kg >= batch_kg:
        raise _refused(
            f"{batch_sentence(batch_kg, rules.batch_tolerance_kg)} is not possible.",
            "Give a size above zero, and a tolerance below it.",
        )
    windows = (target,) if isinstance(target, Window) else tuple(target)
    _check_windows(windows)
    _check_names(lots, rules)
    left_out = tuple(_left_out(lots, rules))
    absent = {each.code for each in left_out}
    offered = tuple(lot for lot in lots if lot.code not in absent)
    if not offered:
        raise _refused(
            "no lot is on offer.", "Receive lots, or look at why the ones in stock are left out."
        )
    _check_ages(offered, rules)
    made = Problem(
        lots=offered,
        mixings=tuple(mixing(offered, window, weighing=rules.weighing) for window in windows),
        rules=rules,
        batch_kg=batch_kg,
        left_out=left_out,
    )
    _check_results(made)
    _check_members(made)
    return made


def _check_windows(windows: Sequence[Window]) -> None:
    names = [window.characteristic for window in windows]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise _refused(f"{twice} has two windows.", "Give one window for each characteristic.")
    if not windows:
        raise _refused("nothing is asked of the blend.", "Give a window for heat at least.")


def _check_names(lots: Sequence[StockLot], rules: Rules) -> None:
    codes = {lot.code: lot for lot in lots}
    if len(codes) < len(lots):
        names = [lot.code for lot in lots]
        twice = next(name for name in names if names.count(name) > 1)
        raise _refused(f"lot {twice} is listed twice.", "Give each lot once.")
    for limit in rules.shares:
        if limit.of != "lot" or limit.least == 0.0:
            continue
        if limit.name not in codes:
            raise _refused(
                f"lot {limit.name} is asked for, but not in stock.", "Ask for a lot in stock."
            )
        if codes[limit.name].barred:
            raise LotBarred(limit.name, codes[limit.name].barred)
        if limit.name in rules.leave_out:
            raise _refused(
                f"lot {limit.name} is asked for and left out.", "Decide for one of the two."
            )


def _left_out(lots: Sequence[StockLot], rules: Rules) -> list[LeftOut]:
    found = []
    for lot in lots:
        if lot.barred:
            found.append(LeftOut(code=lot.code, reason=lot.barred))
        elif lot.code in rules.leave_out:
            found.append(LeftOut(code=lot.code, reason="left out by request"))
        elif lot.available_kg == 0.0:
            found.append(LeftOut(code=lot.code, reason="nothing available"))
    return found


def _check_ages(lots: Sequence[StockLot], rules: Rules) -> None:
    if rules.shelf_life_days is None:
        return
    unknown = next((lot.code for lot in lots if lot.expires_in_days is None), None)
    if unknown is not None:
        raise _refused(
            f"lot {unknown} has no date of expiry, but a shelf life is asked for.",
            "Enter the date, or leave the lot out.",
        )


def _check_results(made: Problem) -> None:
    if made.rules.most_result_age_days is None:
        return
    unknown = next((lot.code for lot in made.lots if math.isnan(made.result_age(lot))), None)
    if unknown is not None:
        raise _refused(
            f"lot {unknown} has a result without a date, but an age of results is asked for.",
            "Enter the date, or leave the lot out.",
        )


def _check_members(made: Problem) -> None:
    for limit in made.rules.shares:
        if limit.least > 0.0 and not made.members(limit).any():
            raise _refused(
                f"{limit.subject} is asked for, but has nothing on offer.",
                "Ask for another, or look at why its lots are left out.",
            )


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="blend", remedy=remedy)
