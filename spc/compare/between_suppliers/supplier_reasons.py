"""Why nothing is said of a supplier, and which statements are weak."""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.compare.between_suppliers.consistency import FEWEST_FOR_CONSISTENCY
from spc.compare.between_suppliers.lots_by_supplier import FEWEST_SUPPLIERS, GroupedLots

Flags = NDArray[np.bool_]

# Of two lots the spread comes out below an eighth of the true one once in ten times, of three once
# in sixty; such a supplier would then carry the whole comparison.
FEWEST_LOTS: Final = 3
# From so many suppliers on, with fewer lots in each (harmonic mean) than there are suppliers,
# Welch's test and the joint intervals overrun a risk of 5 % by a fifth and more.
MANY_SUPPLIERS: Final = 6


def supplier_reasons(
    supplier: tuple[str, ...], groups: GroupedLots, enough: Flags
) -> tuple[str, ...]:
    """Sentences on what a comparison withholds or cannot say well.

    Parameters
    ----------
    supplier : length suppliers
        Names.
    groups
        Their lots.
    enough : shape (suppliers,)
        Whether each has enough lots to be compared.

    Returns
    -------
    tuple of str
        Of single suppliers first, in their order, and then of all.
    """
    single = [
        sentence
        for at, name in enumerate(supplier)
        if (sentence := _of_one(name, int(groups.lots[at]), enough=bool(enough[at])))
    ]
    return (*single, *_of_all(groups, enough))


def _of_one(name: str, lots: int, *, enough: bool) -> str:
    counted = f"{name} has {lots} {'lot' if lots == 1 else 'lots'}"
    if lots < FEWEST_LOTS:
        return f"{counted}; at least {FEWEST_LOTS} are needed to say anything of it."
    if not enough:
        return f"All {lots} lots of {name} have one value, as if copied; nothing is said of it."
    if lots < FEWEST_FOR_CONSISTENCY:
        return f"{counted}; its consistency is compared from {FEWEST_FOR_CONSISTENCY} on."
    return ""


def _of_all(groups: GroupedLots, enough: Flags) -> list[str]:
    compared = int(enough.sum())
    if compared < 2:
        return ["Fewer than two suppliers have enough lots, so none are compared."]
    found = []
    if compared < FEWEST_SUPPLIERS:
        found.append("Two suppliers do not tell how suppliers differ, so neither is shrunken.")
    if compared >= MANY_SUPPLIERS and 1.0 / (1.0 / groups.degrees[enough]).mean() < compared:
        found.append(
            f"With {compared} suppliers and so few lots of each, Welch's test and the joint"
            " intervals find differences too readily; go by the simulated chance."
        )
    return found
