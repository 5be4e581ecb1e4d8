"""What an exact recipe costs, as a ratio to the same problem without odds and whole bags.

Run as ``python -m tests.bench.bench_blend``.  Bars of the issue, with six characteristics, whole
bags and at most eight lots: 300 lots in a median of 2 s, 1 000 lots in 10 s, the optimum proven to
the gap that is printed.  Then the same of the least uncertain recipe, and of why an order has none.
"""

import statistics
import time
from collections.abc import Callable, Sequence
from dataclasses import replace

import numpy as np

from spc.blend.explain.conflict import conflict
from spc.blend.explain.cures import cures
from spc.blend.explain.purchases import purchases
from spc.blend.problem.problem import Problem, problem
from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.problem.stock import Assay, StockLot
from spc.blend.problem.target import Window
from spc.blend.recipe import Recipe, recipe
from spc.blend.search.assembly import Aim

RULES = Rules(most_lots=8, shares=[ShareLimit(of="each lot", most=0.4)])
TARGET = (
    Window(characteristic="heat", unit="SHU", lower=40_500, upper=49_500, odds=0.95),
    Window(characteristic="colour", unit="ASTA units", lower=60.0),
    Window(characteristic="moisture", unit="g/100 g", lower=8.0, upper=10.5),
    Window(characteristic="coarse", unit="g/100 g", upper=12.0),
    Window(characteristic="fines", unit="g/100 g", lower=24.0, upper=36.0),
    Window(characteristic="ash", unit="g/100 g", upper=7.5),
)
# Of each characteristic: mean and spread between lots, own and shared relative uncertainty.
LEVELS = {
    "heat": (45_000.0, 0.45, 0.05, 0.015),
    "colour": (60.0, 18.0, 0.04, 0.01),
    "moisture": (9.5, 1.2, 0.02, 0.01),
    "coarse": (12.0, 5.0, 0.08, 0.0),
    "fines": (30.0, 8.0, 0.05, 0.0),
    "ash": (7.5, 1.0, 0.03, 0.0),
}
EXPLAINED = 3
Order = Callable[[list[StockLot]], Problem]


def _too_hot(stock: list[StockLot]) -> Problem:
    window = replace(TARGET[0], lower=200_000, upper=240_000)
    return problem(stock, (window, *TARGET[1:]), batch_kg=1_000.0, rules=RULES)


def _too_little(stock: list[StockLot]) -> Problem:
    few = [replace(one, bag_kg=None, opened_kg=0.0, available_kg=3.0) for one in stock]
    return problem(few, TARGET, batch_kg=1_000.0, rules=replace(RULES, most_lots=None))


def _contradicting(stock: list[StockLot]) -> Problem:
    """Of each origin so little that they make no batch."""
    shares = [ShareLimit(of="origin", name=f"O{place}", most=0.2) for place in range(4)]
    rules = replace(RULES, shares=[*RULES.shares, *shares])
    return problem(stock, TARGET, batch_kg=1_000.0, rules=rules)


def _too_certain(stock: list[StockLot]) -> Problem:
    window = replace(TARGET[0], lower=44_000, upper=46_000, odds=0.99)
    return problem(stock, (window, *TARGET[1:]), batch_kg=1_000.0, rules=RULES)


def _odd_size(stock: list[StockLot]) -> Problem:
    """Whole bags of 25 kg do not make 1 010 kg."""
    bags = [replace(one, bag_kg=25.0, opened_kg=0.0, available_kg=500.0) for one in stock]
    return problem(bags, TARGET, batch_kg=1_010.0, rules=RULES)


IMPOSSIBLE: dict[str, Order] = {
    "heat out of reach": _too_hot,
    "too little stock": _too_little,
    "contradicting shares": _contradicting,
    "odds too high": _too_certain,
    "a size that bags do not make": _odd_size,
}


def main() -> None:
    """Print gaps, times and ratios."""
    for lots, orders in ((300, 15), (1_000, 6)):
        for gap in (1e-3, 1e-4):
            _bench(lots, orders, gap)
    _bench(300, 6, 1e-3, aim="least spread")
    for kind, order in IMPOSSIBLE.items():
        _explain(kind, order)


def _bench(lots: int, orders: int, gap: float, *, aim: Aim = "cost") -> None:
    times, plain, gaps = [], [], []
    for seed in range(orders):
        stock = _stock(lots, seed)
        made, seconds = _timed(stock, TARGET, gap, aim)
        times.append(seconds)
        plain.append(_yardstick(stock, gap))
        gaps.append(made.gap)
    ratio = statistics.median(times) / statistics.median(plain)
    print(  # noqa: T201
        f"{lots} lots, {aim}, gap {gap:g}: median {statistics.median(times):.2f} s, longest"
        f" {max(times):.2f} s; proven gap at most {max(gaps):.1e}; without odds and bags"
        f" {1000.0 * statistics.median(plain):.0f} ms, ratio {ratio:.1f}"
    )


def _explain(kind: str, order: Order) -> None:
    times, plain, proven, sizes = [], [], 0, set()
    for seed in range(EXPLAINED):
        stock = _stock(300, seed)
        asked = order(stock)
        begun = time.perf_counter()
        found = conflict(asked)
        cures(asked, found)
        purchases(asked, found)
        times.append(time.perf_counter() - begun)
        plain.append(_yardstick(stock, 1e-3))
        proven += found.smallest
        sizes.add(len(found.constraints))
    ratio = statistics.median(times) / statistics.median(plain)
    print(  # noqa: T201
        f"300 lots, {kind}: explained in a median of {statistics.median(times):.2f} s, longest"
        f" {max(times):.2f} s, ratio {ratio:.1f}; proven smallest {proven} of {EXPLAINED},"
        f" of {min(sizes)} to {max(sizes)} constraints"
    )


def _yardstick(stock: list[StockLot], gap: float) -> float:
    """Seconds for the same order without odds and whole bags."""
    loose = [replace(one, bag_kg=None) for one in stock]
    return _timed(loose, [replace(each, odds=None) for each in TARGET], gap, "cost")[1]


def _timed(
    lots: list[StockLot], target: Sequence[Window], gap: float, aim: Aim
) -> tuple[Recipe, float]:
    begun = time.perf_counter()
    made = recipe(lots, target, batch_kg=1_000.0, rules=RULES, gap=gap, aim=aim)
    return made, time.perf_counter() - begun


def _stock(lots: int, seed: int) -> list[StockLot]:
    random = np.random.default_rng(seed)
    values = {
        name: np.exp(random.normal(np.log(mean), spread, lots))
        if name == "heat"
        else random.normal(mean, spread, lots).clip(0.1)
        for name, (mean, spread, _, _) in LEVELS.items()
    }
    worth = 2.0 + 1.2 * values["heat"] / 45_000.0 + 0.8 * values["colour"] / 60.0
    price = (worth + random.normal(0.0, 0.35, lots)).clip(0.8)
    bag, bags = random.choice([12.5, 20.0, 25.0], lots), random.integers(2, 60, lots)
    opened = np.where(random.random(lots) < 0.3, random.uniform(1.0, 10.0, lots), 0.0)
    return [
        StockLot(
            code=f"L{place}",
            material="powder",
            supplier=f"S{place % 9}",
            origin=f"O{place % 4}",
            price_per_kg=float(price[place]),
            available_kg=float(opened[place] + bag[place] * bags[place]),
            bag_kg=float(bag[place]),
            opened_kg=float(opened[place]),
            assays={name: _assay(name, float(values[name][place])) for name in LEVELS},
        )
        for place in range(lots)
    ]


def _assay(name: str, value: float) -> Assay:
    _, _, own, shared = LEVELS[name]
    unit = next(window.unit for window in TARGET if window.characteristic == name)
    return Assay(
        value=value,
        standard_uncertainty=own * value,
        shared_uncertainty=shared * value,
        unit=unit,
        method=f"method for {name}",
    )


if __name__ == "__main__":
    main()
