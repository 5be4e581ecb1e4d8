"""Variance components against a general-purpose library, and against certified data.

MixedLM of statsmodels fits the same model by general optimisation: agreement to 1e-6.  Certified
one-way analyses of variance of the NIST Statistical Reference Datasets: with equal groups
restricted likelihood is the analysis of variance (Searle, Casella & McCulloch 1992, section 6.6).
"""

import importlib
import warnings

import numpy as np
import pandas as pd
import pytest

from spc.compare.spread.variance_components import components

# SiRstv, resistivity of silicon by five instruments; certified to 15 digits.
SILICON = [
    [196.3052, 196.124, 196.189, 196.2569, 196.3403],
    [196.3042, 196.3825, 196.1669, 196.3257, 196.0422],
    [196.1303, 196.2005, 196.2889, 196.0343, 196.1811],
    [196.2795, 196.1748, 196.1494, 196.1485, 195.9885],
    [196.2119, 196.1051, 196.185, 196.0052, 196.209],
]
SILICON_BETWEEN, SILICON_WITHIN = 0.0127865654, 0.010831828

# SmLs01 and SmLs04: nine treatments of 21 values, the second on an offset of a million.
# Certified mean squares between and within, 0.21 and 0.01.
SMALL_SPREAD = [(1.0, 1e-8), (1e6, 1e-6)]


def harvest():
    """Unbalanced readings of lots by three methods: 1 to 4 samples of 1 to 3 readings each."""
    generator = np.random.default_rng(11)
    rows = [
        (lot, sample)
        for lot in range(14)
        for sample in range(generator.integers(1, 5))
        for _ in range(generator.integers(1, 4))
    ]
    frame = pd.DataFrame(rows, columns=["lot", "sample"])
    frame["method"] = generator.choice(["oven", "balance", "distillation"], size=len(frame))
    frame["value"] = (
        9.0
        + 1.2 * generator.normal(size=14)[frame["lot"]]
        + 0.8 * generator.normal(size=(14, 4))[frame["lot"], frame["sample"]]
        + 0.4 * generator.normal(size=len(frame))
        + 0.5 * (frame["method"] == "oven")
    )
    return frame


@pytest.mark.parametrize("formula", ["value ~ 1", "value ~ C(method)"])
def test_unbalanced_lots_and_samples_agree_with_mixedlm_to_1e_6(formula):
    frame = harvest()
    library = importlib.import_module("statsmodels.regression.mixed_linear_model")
    model = library.MixedLM.from_formula(
        formula, frame, groups="lot", re_formula="1", vc_formula={"sample": "0 + C(sample)"}
    )
    with warnings.catch_warnings():
        # Its optimiser warns when it cannot come closer still than it was asked to.
        warnings.simplefilter("ignore")
        fitted = model.fit(reml=True, method="bfgs", gtol=1e-8)

    found = components(
        frame["value"],
        {"lot": frame["lot"], "sample": frame["sample"]},
        fixed=None if formula == "value ~ 1" else frame["method"],
    )

    theirs = [fitted.cov_re.iloc[0, 0], fitted.vcomp[0], fitted.scale]
    assert found.variance == pytest.approx(theirs, rel=1e-6)
    assert found.log_likelihood == pytest.approx(fitted.llf, abs=1e-6)
    assert found.log_likelihood >= fitted.llf - 1e-9
    effects = fitted.fe_params.to_numpy()
    assert [found.mean, *found.contrast[1:]] == pytest.approx(effects.tolist(), rel=1e-6)


def test_certified_silicon_resistivity_in_equal_groups():
    value, instrument = np.ravel(SILICON), np.repeat(np.arange(5), 5)

    found = components(value, {"instrument": instrument})

    expected = [(SILICON_BETWEEN - SILICON_WITHIN) / 5.0, SILICON_WITHIN]
    assert found.variance == pytest.approx(expected, rel=1e-7)
    assert found.effective_degrees[1] == pytest.approx(20.0, rel=1e-6)


@pytest.mark.parametrize(("offset", "tolerance"), SMALL_SPREAD)
def test_certified_small_spreads_on_large_offsets(offset, tolerance):
    """A million with steps of 0.1: the inputs themselves are rounded at 1e-10."""
    treatment = np.repeat(np.arange(9), 21)
    centre = offset + np.array([0.4, 0.3, 0.5, 0.3, 0.5, 0.3, 0.5, 0.3, 0.5])
    pattern = np.tile([-0.1, 0.1], 10)
    value = np.concatenate([np.append(one, one + pattern) for one in centre])

    found = components(value, {"treatment": treatment})

    assert found.variance == pytest.approx([0.2 / 21.0, 0.01], rel=tolerance)


def test_equal_nested_groups_give_the_estimators_of_the_analysis_of_variance():
    """Suppliers, lots, samples and readings in closed form, from Searle, Casella & McCulloch."""
    generator = np.random.default_rng(4)
    a, b, n = 6, 5, 3
    table = (
        2.0 * generator.normal(size=(a, 1, 1))
        + generator.normal(size=(a, b, 1))
        + 0.6 * generator.normal(size=(a, b, n))
    )
    supplier, lot, _ = (one.ravel() for one in np.indices(table.shape))

    found = components(table.ravel(), {"supplier": supplier, "lot": lot})

    lots, suppliers = table.mean(axis=2), table.mean(axis=(1, 2))
    between = b * n * ((suppliers - table.mean()) ** 2).sum() / (a - 1)
    nested = n * ((lots - suppliers[:, None]) ** 2).sum() / (a * (b - 1))
    within = ((table - lots[:, :, None]) ** 2).sum() / (a * b * (n - 1))
    expected = [(between - nested) / (b * n), (nested - within) / n, within]
    assert found.variance == pytest.approx(expected, rel=1e-7)
    assert found.mean == pytest.approx(table.mean(), rel=1e-12)
    assert found.mean_uncertainty == pytest.approx((between / (a * b * n)) ** 0.5, rel=1e-7)
