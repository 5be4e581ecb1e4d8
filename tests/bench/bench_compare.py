"""A whole comparison of a material's suppliers, against the sorting and the F test of its lots.

`python -m tests.bench.bench_compare`.  The yardstick is SciPy's Welch F test over the same lots;
the comparison adds intervals, pairs, equivalence, shrinkage, rankings, certificates, drift and
cost.  The bar of the issue is 300 ms of compute for 2 000 lots.
"""

import time
from collections.abc import Callable
from typing import Final

import numpy as np
import pandas as pd
from scipy import stats

from spc import compare

LOTS: Final = 2_000
SUPPLIERS: Final = 10
_RUNS: Final = 5


def lots() -> pd.DataFrame:
    """Lots of one material from many suppliers of different size."""
    random = np.random.default_rng(2000)
    share = random.dirichlet(np.full(SUPPLIERS, 3.0))
    supplier = random.choice(SUPPLIERS, size=LOTS, p=share)
    level = 40_000.0 * np.exp(0.1 * random.standard_normal(SUPPLIERS))
    own = level[supplier] * np.exp(0.12 * random.standard_normal(LOTS))
    return pd.DataFrame(
        {
            "supplier": [f"Supplier {one:02d}" for one in supplier],
            "value": own,
            "heat": own,
            "own": own,
            "own_uncertainty": 0.055,
            "declared": np.round(own * np.exp(0.04 * random.standard_normal(LOTS)), -2),
            "declared_uncertainty": 0.08,
            "day": np.arange(LOTS, dtype=np.float64),
            "crop_year": 2020.0 + np.arange(LOTS) * 6 // LOTS,
            "price_per_kg": 4.5,
            "currency": "EUR",
            "kg": 1_000.0,
        }
    )


def whole(frame: pd.DataFrame) -> None:
    """Everything that the screen of suppliers shows of a material."""
    compare.suppliers(
        frame[["supplier", "value"]].assign(uncertainty=0.055), scale="log", lower=3e4, upper=5e4
    )
    compare.heat_cost(frame)
    for _, mine in frame.groupby("supplier"):
        compare.crop_drift(mine["value"], mine["crop_year"], scale="log")
        if len(mine) > 2:
            compare.certificates(mine, scale="log")


def fastest(work: Callable[[], object]) -> float:
    """CPU seconds of the fastest of several runs."""
    times = []
    for _ in range(_RUNS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)


def main() -> None:
    """Print the ratio."""
    frame = lots()
    groups = [np.log(mine["value"].to_numpy()) for _, mine in frame.groupby("supplier")]
    yardstick = fastest(lambda: stats.f_oneway(*groups, equal_var=False))
    alone = fastest(
        lambda: compare.suppliers(frame[["supplier", "value"]], scale="log", lower=3e4, upper=5e4)
    )
    everything = fastest(lambda: whole(frame))
    for name, took in (("levels, spreads, ranks", alone), ("whole comparison", everything)):
        print(f"{name:<24} {1e3 * took:5.0f} ms, {took / yardstick:4.0f} x one F test")  # noqa: T201


if __name__ == "__main__":
    main()
