"""What the next euro should buy, and the cheapest way to a wanted uncertainty."""

from typing import Final

from dashboard.frame.words import count
from dashboard.methods.words.precision import size
from spc.compare.spread.cheapest_design import CheapestDesign
from spc.compare.spread.purchase import Purchase
from spc.compare.spread.sampling_spread import SamplingDesign, SamplingSpread


def spread_for(spread: SamplingSpread, *, log: bool, unit: str, stated_only: bool) -> str:
    """What a purchase is worked out from."""
    parts = (
        ("bags of one lot", spread.bag),
        ("tests of one bag", spread.test),
        ("laboratories", spread.laboratory),
    )
    told = ", ".join(f"{name} {size(sd, log=log, unit=unit)}" for name, sd in parts if sd > 0.0)
    own = (
        "The method itself keeps a standard uncertainty of"
        f" {size(spread.method, log=log, unit=unit)}, which nothing on offer lowers."
        if spread.method
        else "What is stated of the method's own uncertainty lies between laboratories."
    )
    source = (
        "Planning values, for routine readings do not tell them apart"
        if stated_only
        else "Found in routine readings"
    )
    unknown = (
        ""
        if spread.laboratory
        else " No comparison between laboratories is on record, so another laboratory counts as"
        " more tests only."
    )
    return f"{source}: standard deviation between {told}. {own}{unknown}"


_BUYS: Final = {
    "bag": "one more bag",
    "test": "one more test of every bag",
    "laboratory": "another laboratory that tests every bag",
}


def option_words(name: str) -> str:
    """What an option buys."""
    return _BUYS[name]


def purchase(found: Purchase, *, log: bool, unit: str) -> str:
    """What the next euro should buy, and how sure that is."""
    now = f"As sampled now the lot's mean is known to {size(found.uncertainty, log=log, unit=unit)}"
    if found.best is None:
        return f"{now} (standard uncertainty). Nothing on offer lowers it."
    best = found.options[0]
    then = size(best.uncertainty, log=log, unit=unit)
    told = (
        f"{now} (standard uncertainty). The next euro buys most with"
        f" {option_words(found.best)}: for {best.cost:.2f} € it becomes {then}."
    )
    if not found.also_best:
        return f"{told} That holds at every end of the intervals."
    others = " or ".join(option_words(one) for one in found.also_best)
    return f"{told} At other ends of the intervals it would be {others}."


def design(one: SamplingDesign) -> str:
    """A way to sample and test."""
    laboratories = count(one.laboratories, "laboratory", "laboratories")
    where = f" in each of {laboratories}" if one.laboratories > 1 else ""
    return f"{count(one.bags, 'bag')}, {count(one.tests, 'test')} of each{where}"


def cheapest(found: CheapestDesign, wanted: float, *, log: bool, unit: str) -> str:
    """The cheapest way to a wanted uncertainty, or why there is none."""
    told = size(wanted, log=log, unit=unit)
    if found.design is not None:
        reached = size(found.uncertainty, log=log, unit=unit)
        return (
            f"{told} is reached most cheaply with {design(found.design)}: {found.cost:.2f} € a lot,"
            f" standard uncertainty {reached}."
        )
    least = size(found.floor, log=log, unit=unit)
    why = {
        "method": (
            "the method's own standard uncertainty is"
            f" {size(found.method_floor, log=log, unit=unit)}, and no number of bags or tests"
            " lowers it; a better method would"
        ),
        "laboratory": (
            "laboratories differ among themselves, and with as many as are allowed"
            f" {size(found.laboratory_floor, log=log, unit=unit)} is left"
        ),
        "bounds": f"within the numbers that are allowed the least is {least}",
    }[found.obstacle or "bounds"]
    return f"{told} cannot be reached: {why}."
