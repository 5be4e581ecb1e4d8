"""What the next euro should buy: one more bag, one more test of each, or another laboratory."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import product
from typing import Literal

from spc.compare.spread.sampling_spread import Floats, Prices, SamplingDesign, SamplingSpread
from spc.errors import InvalidInput

Bought = Literal["bag", "test", "laboratory"]


@dataclass(frozen=True, slots=True, kw_only=True)
class PurchaseOption:
    """One thing that could be bought next.

    Attributes
    ----------
    bought
        One more bag, one more test of every bag, or one more laboratory that tests every bag.
    design
        With it.
    cost
        Beyond the present design.
    uncertainty
        Standard uncertainty of the lot's mean with it.
    variance_drop, uncertainty_drop
        Present less with it.
    drop_per_cost
        Standard uncertainty taken off, by unit of money.
    """

    bought: Bought
    design: SamplingDesign
    cost: float
    uncertainty: float
    variance_drop: float
    uncertainty_drop: float
    drop_per_cost: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Purchase:
    """What could be bought next, best first.

    Attributes
    ----------
    uncertainty
        Standard uncertainty of the lot's mean as sampled now.
    parts : shape (4,)
        Its variance, by what it comes from, in the order of `PARTS`.
    options
        From the one that takes most off a unit of money; ties in the order bag, test, laboratory.
    best
        The first of them; None if nothing on offer takes anything off.
    also_best
        What would be best instead if spreads lay at other ends of their intervals; empty where
        the advice holds at all of them.
    """

    uncertainty: float
    parts: Floats
    options: tuple[PurchaseOption, ...]
    best: Bought | None
    also_best: tuple[Bought, ...]


def next_purchase(
    spread: SamplingSpread,
    prices: Prices,
    now: SamplingDesign,
    *,
    bags_in_lot: int | None = None,
) -> Purchase:
    """What lowers the uncertainty of a lot's mean most for its price.

    Parameters
    ----------
    spread
        Standard deviations of bags, tests and laboratories, and the method's uncertainty.
    prices
        Of each.
    now
        What is sampled and tested already.
    bags_in_lot
        How many there are; None for a loose or very large lot.

    Returns
    -------
    Purchase
        In the unit of the spread and the currency of the prices.

    Raises
    ------
    InvalidInput
        If more bags are sampled than there are.

    References
    ----------
    JCGM 100:2008, 5.1.2: variances of independent parts add up.
    Cochran, W. G. (1977), Sampling Techniques, 10.6: the least variance for a cost.
    """
    if bags_in_lot is not None and now.bags > bags_in_lot:
        raise InvalidInput(
            f"{now.bags} bags are sampled of a lot of {bags_in_lot}.",
            where="next_purchase",
            remedy="Correct the number of bags sampled, or of bags in the lot.",
        )
    parts = spread.variances(now.bags, now.tests, now.laboratories, bags_in_lot=bags_in_lot)
    options = _options(spread, prices, now, bags_in_lot)
    best = _best(options)
    elsewhere = {_best(_options(end, prices, now, bags_in_lot)) for end in _ends(spread)}
    return Purchase(
        uncertainty=math.sqrt(parts.sum()),
        parts=parts,
        options=options,
        best=best,
        also_best=tuple(
            each.bought for each in options if each.bought in elsewhere and each.bought != best
        ),
    )


def _options(
    spread: SamplingSpread, prices: Prices, now: SamplingDesign, bags_in_lot: int | None
) -> tuple[PurchaseOption, ...]:
    """Everything that can be bought, from the one that takes most off a unit of money."""
    offers: list[tuple[Bought, SamplingDesign]] = [
        ("test", replace(now, tests=now.tests + 1)),
        ("laboratory", replace(now, laboratories=now.laboratories + 1)),
    ]
    if bags_in_lot is None or now.bags < bags_in_lot:
        offers.insert(0, ("bag", replace(now, bags=now.bags + 1)))
    priced = [_priced(spread, prices, now, offer, bags_in_lot) for offer in offers]
    return tuple(sorted(priced, key=lambda option: -option.drop_per_cost))


def _priced(
    spread: SamplingSpread,
    prices: Prices,
    now: SamplingDesign,
    offer: tuple[Bought, SamplingDesign],
    bags_in_lot: int | None,
) -> PurchaseOption:
    bought, design = offer
    numbers = [(one.bags, one.tests, one.laboratories) for one in (now, design)]
    before, after = (
        float(spread.variances(*one, bags_in_lot=bags_in_lot).sum()) for one in numbers
    )
    paid, due = (float(prices.of(*one)) for one in numbers)
    drop = math.sqrt(before) - math.sqrt(after)
    return PurchaseOption(
        bought=bought,
        design=design,
        cost=due - paid,
        uncertainty=math.sqrt(after),
        variance_drop=before - after,
        uncertainty_drop=drop,
        drop_per_cost=drop / (due - paid),
    )


def _best(options: tuple[PurchaseOption, ...]) -> Bought | None:
    return options[0].bought if options[0].uncertainty_drop > 0.0 else None


def _ends(spread: SamplingSpread) -> Iterator[SamplingSpread]:
    """The spread at all ends of its intervals."""
    intervals = (spread.bag_interval, spread.test_interval, spread.laboratory_interval)
    values = (spread.bag, spread.test, spread.laboratory)
    choices = [interval or (value,) for interval, value in zip(intervals, values, strict=True)]
    for bag, test, laboratory in product(*choices):
        yield replace(spread, bag=bag, test=test, laboratory=laboratory)
