"""Cost of all run rules on ten million points in twenty thousand streams.

Run it as a script; it is not part of the tests:  python tests/bench/bench_run_rules.py
The yardstick is one NumPy pass that computes the standardised values.
"""

import time
import tracemalloc

import numpy as np

from spc import charts

POINTS, STREAMS, ROUNDS = 10_000_000, 20_000, 5
BAR = 12.0
ALL = tuple(charts.RULES)


def best_time(work):
    """Seconds of the fastest of several rounds: the one that was disturbed least."""
    seconds = []
    for _ in range(ROUNDS):
        begin = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - begin)
    return min(seconds)


def peak_megabytes(work):
    """Memory on top of what was there before, at its highest, result included."""
    tracemalloc.start()
    work()
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    return peak / 1e6


def main():
    generator = np.random.default_rng(1)
    length = POINTS // STREAMS
    x = generator.normal(size=POINTS)
    center = np.repeat(generator.normal(scale=0.01, size=STREAMS), length)
    sigma = np.repeat(generator.uniform(0.9, 1.1, size=STREAMS), length)
    starts = np.arange(STREAMS) * length
    z = (x - center) / sigma

    one_pass = best_time(lambda: (x - center) / sigma)
    rules = best_time(lambda: charts.run_rules(z, rules=ALL, starts=starts))
    peak = peak_megabytes(lambda: charts.run_rules(z, rules=ALL, starts=starts))

    ratio = rules / one_pass
    print(f"{POINTS:,} points, {STREAMS:,} streams, {len(ALL)} rules")  # noqa: T201
    print(f"one pass      {one_pass:.4f} s")  # noqa: T201
    print(f"run_rules     {rules:.4f} s, {ratio:.1f} times one pass (bar: {BAR:g})")  # noqa: T201
    print(  # noqa: T201
        f"peak memory   {peak:.0f} MB, {peak * 1e6 / z.nbytes:.2f} times the scores;"
        f" the flags alone take {len(ALL) * POINTS / 1e6:.0f} MB"
    )


if __name__ == "__main__":
    main()
