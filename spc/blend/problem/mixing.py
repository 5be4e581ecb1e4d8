"""What a kilogram of each lot brings to one characteristic of the blend.

Kilograms add.  An as-is value mixes in proportion to the kilograms, a dry-basis value in proportion
to the dry matter in them, so every value is first brought to the basis and unit of the window, and
every lot then weighs with one kilogram or with its dry share.  Heat, extractable colour, moisture
and the shares retained or passed by a sieve all mix this way; a colour co-ordinate does not.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc import heat, units
from spc.blend.problem.stock import MOISTURE, Assay, StockLot
from spc.blend.problem.target import Window
from spc.errors import InvalidInput, UnknownUnit

Floats = NDArray[np.float64]

MOST_NAMED: Final = 3


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mixing:
    """One characteristic of all lots, on the basis and in the unit of its window.

    Attributes
    ----------
    window
        What is asked of the blend.
    weight : shape (lots,)
        Kilograms that count, per kilogram: 1 as-is, the dry share on dry basis.
    value : shape (lots,)
        Mean of each lot.
    own : shape (lots,)
        Standard uncertainty of that mean, independent between lots; that of the moisture and of
        the weighing included.
    tested : shape (lots,)
        The part of `own` that comes from the tests of this characteristic.
    tests : shape (lots,)
        How many tests that rests on.
    methods
        Names of the methods the lots were measured by.
    shared : shape (methods, lots)
        Standard uncertainty that all lots of a method share; 0 where a lot has another method.
    """

    window: Window
    weight: Floats
    value: Floats
    own: Floats
    tested: Floats
    tests: Floats
    methods: tuple[str, ...]
    shared: Floats

    def mean(self, kilograms: Floats) -> float:
        """Mean of the blend of these kilograms, shape (lots,)."""
        mass = kilograms * self.weight
        return float(mass @ self.value / mass.sum())

    def variances(self, kilograms: Floats) -> tuple[Floats, Floats]:
        """Parts of the variance of the blend: of each lot's own, and of each method's bias."""
        share = kilograms * self.weight / float(kilograms @ self.weight)
        return (share * self.own) ** 2, (self.shared @ share) ** 2

    def deviation(self, kilograms: Floats) -> float:
        """Standard deviation of the blend's true mean about the estimate."""
        lots, methods = self.variances(kilograms)
        return float(np.sqrt(lots.sum() + methods.sum()))


def mixing(lots: Sequence[StockLot], window: Window, *, weighing: float) -> Mixing:
    """A characteristic of all lots, ready for mixing.

    Parameters
    ----------
    lots
        Each with the characteristic of the window.
    window
        Gives unit and basis.
    weighing
        Relative standard uncertainty of the mass of a portion.

    Returns
    -------
    Mixing

    Raises
    ------
    InvalidInput
        If a lot has no such assay, or no moisture where a basis must be changed.
    UnknownUnit
        If a unit cannot be converted to that of the window.

    Notes
    -----
    A change of basis adds the relative uncertainty of the dry share to the lot's own (JCGM
    100:2008, 5.1.2).  That of the dry shares as weights is left out: it moves the blend by the
    difference between lots, not by their size, and is far below that of any heat result.  A portion
    off by a share moves the blend by that share of the lot's distance from it; the centre of the
    window stands for the blend here, which is right to the second order.
    """
    assays = _assays(lots, window.characteristic)
    factors = np.array(
        [_factor(assay, lot, window) for assay, lot in zip(assays, lots, strict=True)]
    )
    dry, doubt = _dry_shares(lots, assays, window)
    value = np.array([assay.value for assay in assays]) * factors
    tested = np.array([assay.standard_uncertainty for assay in assays]) * factors
    bias = np.array([assay.shared_uncertainty for assay in assays]) * factors
    own = np.hypot(tested, value * doubt)
    off = weighing * np.abs(value - window.center)
    names = tuple(sorted({assay.method for assay in assays}))
    method = np.array([names.index(assay.method) for assay in assays], dtype=np.int64)
    return Mixing(
        window=window,
        weight=dry if window.basis == "dry" else np.ones(len(lots)),
        value=value,
        own=np.hypot(own, off),
        tested=tested,
        tests=np.array([float(assay.tests) for assay in assays]),
        methods=names,
        shared=np.where(method == np.arange(len(names))[:, None], bias, 0.0),
    )


def _assays(lots: Sequence[StockLot], characteristic: str) -> list[Assay]:
    missing = [lot.code for lot in lots if characteristic not in lot.assays]
    if missing:
        raise InvalidInput(
            f"{_named(missing)} no result for {characteristic}.",
            where="blend",
            remedy="Have it measured, or leave the lot out.",
        )
    return [lot.assays[characteristic] for lot in lots]


def _factor(assay: Assay, lot: StockLot, window: Window) -> float:
    """From the unit and basis of the assay to those of the window; moisture is known by now."""
    where = f"lot {lot.code}, {window.characteristic}"
    if assay.unit == window.unit:
        factor = 1.0
    else:
        try:
            factor = units.factor(assay.unit, to=window.unit)
        except UnknownUnit as problem:
            raise UnknownUnit(assay.unit, known=[window.unit], where=where) from problem
    if assay.basis == window.basis:
        return factor
    convert = heat.dry_basis if window.basis == "dry" else heat.as_is_basis
    return factor * float(convert(1.0, _moisture(lot, where).value))


def _dry_shares(
    lots: Sequence[StockLot], assays: Sequence[Assay], window: Window
) -> tuple[Floats, Floats]:
    """Dry share of each lot where it matters, and its relative uncertainty where it converts."""
    share, doubt = np.ones(len(lots)), np.zeros(len(lots))
    for place, (lot, assay) in enumerate(zip(lots, assays, strict=True)):
        if window.basis == "as-is" and assay.basis == "as-is":
            continue
        water = _moisture(lot, f"lot {lot.code}, {window.characteristic}")
        share[place] = float(heat.as_is_basis(1.0, water.value))
        if assay.basis != window.basis:
            doubt[place] = water.standard_uncertainty / (100.0 - water.value)
    return share, doubt


def _moisture(lot: StockLot, where: str) -> Assay:
    water = lot.assays.get(MOISTURE)
    if water is None:
        raise InvalidInput(
            "the blend mixes as-is and dry values, and the lot has no moisture to convert with.",
            where=where,
            remedy="Have its moisture measured, or leave the lot out.",
        )
    if water.unit not in ("g/100 g", "%") or water.basis != "as-is":
        raise InvalidInput(
            f"moisture in {water.unit} {water.basis} cannot be used.",
            where=where,
            remedy="Give moisture in g/100 g as-is.",
        )
    return water


def _named(codes: Sequence[str]) -> str:
    if len(codes) == 1:
        return f"lot {codes[0]} has"
    if len(codes) <= MOST_NAMED:
        return f"lots {', '.join(codes)} have"
    return f"lots {', '.join(codes[:MOST_NAMED])} and {len(codes) - MOST_NAMED} more have"
