"""Variance components of 500 lots x 4 samples x 3 replicates, against a general mixed model.

Run it as a script; it is not part of the tests:  python tests/bench/bench_components.py
The yardstick is MixedLM of statsmodels on the same readings: its fit alone, and with the building
of the model that it needs.  Bar of the issue: at least 20 times faster.
"""

import importlib
import time

import numpy as np
import pandas as pd

from spc.compare.spread.variance_components import components

LOTS, SAMPLES, REPLICATES, ROUNDS = 500, 4, 3, 5
BAR = 20.0


def best_time(work, rounds):
    """Seconds of the fastest of several rounds: the one that was disturbed least."""
    seconds = []
    for _ in range(rounds):
        begin = time.perf_counter()
        work()
        seconds.append(time.perf_counter() - begin)
    return min(seconds)


def harvest():
    """Readings of lots, with one in twenty missing so that nothing is balanced."""
    generator = np.random.default_rng(1)
    lot, sample, _ = (one.ravel() for one in np.indices((LOTS, SAMPLES, REPLICATES)))
    value = (
        2.0 * generator.normal(size=LOTS)[lot]
        + generator.normal(size=(LOTS, SAMPLES))[lot, sample]
        + 0.5 * generator.normal(size=lot.size)
    )
    frame = pd.DataFrame({"lot": lot, "sample": sample, "value": value})
    return frame[generator.random(lot.size) > 0.05]


def main():
    library = importlib.import_module("statsmodels.regression.mixed_linear_model")
    frame = harvest()

    def build():
        return library.MixedLM.from_formula(
            "value ~ 1",
            frame,
            groups="lot",
            re_formula="1",
            vc_formula={"sample": "0 + C(sample)"},
        )

    model = build()
    ours = best_time(
        lambda: components(frame["value"], {"lot": frame["lot"], "sample": frame["sample"]}), ROUNDS
    )
    fit = best_time(lambda: model.fit(reml=True), 1)
    whole = best_time(lambda: build().fit(reml=True), 1)
    theirs = model.fit(reml=True)
    found = components(frame["value"], {"lot": frame["lot"], "sample": frame["sample"]})
    difference = np.abs(
        found.variance / [theirs.cov_re.iloc[0, 0], theirs.vcomp[0], theirs.scale] - 1.0
    )
    print(f"{len(frame):,} readings of {LOTS} lots")  # noqa: T201
    print(f"components, with intervals  {ours:.4f} s")  # noqa: T201
    print(f"MixedLM, fit alone          {fit:.3f} s, {fit / ours:.0f} times (bar: {BAR:g})")  # noqa: T201
    print(f"MixedLM, model and fit      {whole:.3f} s, {whole / ours:.0f} times")  # noqa: T201
    largest = f"{difference.max():.1e}"
    print(f"largest difference, MixedLM as it stops by default: {largest}")  # noqa: T201


if __name__ == "__main__":
    main()
