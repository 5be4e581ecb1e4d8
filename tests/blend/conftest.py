"""Lots in stock, and what is asked of a blend, for all tests of blends."""

import numpy as np
import pytest

from spc.blend.problem.problem import problem
from spc.blend.problem.rules import Rules, ShareLimit
from spc.blend.problem.stock import Assay, StockLot
from spc.blend.problem.target import Window

UNITS = {"heat": "SHU", "colour": "ASTA units", "moisture": "g/100 g"}


@pytest.fixture
def lot():
    """A lot by its code, heat and price; heat known to 3 % of its own and 1 % shared."""

    def made(code, heat, price=1.0, *, u=0.03, shared=0.01, kg=1_000.0, **more):
        others = {name: more.pop(name) for name in ("colour", "moisture") if name in more}
        days = more.pop("result_days", 10.0)
        values = {"heat": (heat, u * heat, shared * heat)}
        values |= {name: (value, 0.0, 0.0) for name, value in others.items()}
        return StockLot(
            **{
                "code": code,
                "material": "cayenne powder",
                "supplier": "Alder",
                "origin": "north",
                "price_per_kg": price,
                "available_kg": kg,
                "age_days": 30.0,
                "expires_in_days": 400.0,
                "assays": {
                    name: Assay(
                        value=value,
                        standard_uncertainty=own,
                        shared_uncertainty=common,
                        unit=UNITS[name],
                        method=f"method for {name}",
                        age_days=days,
                    )
                    for name, (value, own, common) in values.items()
                },
            }
            | more
        )

    return made


@pytest.fixture
def heat():
    """A window of heat."""

    def made(lower=40_000.0, upper=50_000.0, **more):
        return Window(characteristic="heat", unit="SHU", lower=lower, upper=upper, **more)

    return made


@pytest.fixture
def asking_too_much(lot, heat):
    """Small orders that mostly ask too much, in more than one way at once."""

    def made(seed):
        random = np.random.default_rng(seed)
        lots = [
            lot(
                f"L{place}",
                float(random.uniform(3e4, 7e4)),
                float(random.uniform(2.0, 5.0)),
                # Of plenty, broken lots make any level; whole ones may be too many.
                kg=float(random.uniform(15.0, 50.0)) * (20.0 if seed % 3 == 0 else 1.0),
                supplier=str(random.choice(["Alder", "Birch"])),
            )
            for place in range(4)
        ]
        center = float(random.uniform(4.5e4 if seed % 3 == 0 else 5.5e4, 7.5e4))
        shares = [ShareLimit(of="supplier", name="Alder", most=float(random.uniform(0.1, 0.5)))]
        rules = Rules(most_lots=int(random.integers(1, 4)) if seed % 3 else 1, shares=shares)
        window = heat(0.97 * center, 1.03 * center, odds=0.8)
        return problem(lots, window, batch_kg=100.0, rules=rules)

    return made
