"""What a verdict and a preview cost, as ratios to the bare query of the same lots' results.

Run as ``python -m tests.bench.bench_verdict``.  Yardstick: one query that reads the current results
of the lots judged.  Bars of the issue: one lot below 30 ms of compute, 50 lots below 1 s.
"""

import statistics
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

import demo_data
from dashboard.command.demo import demo_files
from spc.store import Store
from tests.approved import in_force
from tests.staff import ME

REPEATS = 7
MATERIAL = "cayenne powder"
LOT = "R26-0146"


def main() -> None:
    """Build the demo store and print the ratios."""
    with tempfile.TemporaryDirectory() as folder, Store.open(Path(folder) / "d.duckdb") as store:
        for file in demo_files(Path(demo_data.__file__).parent):
            store.receive(file, by=ME)
        in_force(store)
        lots = store.lots()
        last = lots[lots["material"] == MATERIAL].tail(50)["lot"].tolist()
        newest = max(
            (one for one in store.catalogue().specifications if one.material == MATERIAL),
            key=lambda one: one.version,
        )
        one_query = _median(lambda: store.results(LOT))
        all_queries = _median(store.results)
        one = _median(lambda: store.verdict(LOT))
        many = _median(lambda: store.verdicts(last, proposed=newest))
    print(f"bare query, one lot: {1000 * one_query:.1f} ms; all lots: {1000 * all_queries:.1f} ms")  # noqa: T201
    print(f"one verdict: {1000 * one:.1f} ms, {one / one_query:.1f} times its query")  # noqa: T201
    print(f"preview of 50: {1000 * many:.0f} ms, {many / all_queries:.1f} times its query")  # noqa: T201


def _median(work: Callable[[], object]) -> float:
    work()
    times = []
    for _ in range(REPEATS):
        begun = time.perf_counter()
        work()
        times.append(time.perf_counter() - begun)
    return statistics.median(times)


if __name__ == "__main__":
    main()
