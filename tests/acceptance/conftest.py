"""Lots, methods and readings as the tests of acceptance need them."""

from typing import Any

import numpy as np
import pytest

from spc.acceptance import LotMean, Method, Readings, Specification, Within

CHROMATOGRAPHY = Method(
    method="liquid chromatography",
    standing="reference",
    screening=False,
    relative=True,
    standard_uncertainty=0.025,
    repeatability=0.02,
)
SENSOR = Method(
    method="rapid sensor",
    standing="routine",
    screening=True,
    relative=True,
    standard_uncertainty=0.05,
    repeatability=0.05,
)
BALANCE = Method(
    method="moisture balance",
    standing="routine",
    screening=False,
    relative=False,
    standard_uncertainty=0.15,
    repeatability=0.12,
)


def specification(*lines, **other):
    """The first issue of a specification of ground habanero, unless told otherwise."""
    around: dict[str, Any] = {
        "material": "ground habanero",
        "version": 1,
        "effective_from": "2026-01-01",
        "approved_by": "M. Quist",
        "reason": "first issue",
    }
    return Specification(**(around | other), lines=lines)


@pytest.fixture(scope="session")
def readings():
    """Readings of heat in SHU, each of a sample of its own, unless told otherwise."""

    def make(*values, low=None, high=None, sample=None, **other):
        ends = np.array(values if low is None else low, dtype=np.float64)
        codes = np.arange(ends.size) if sample is None else np.array(sample)
        around: dict[str, Any] = {
            "characteristic": "heat",
            "unit": "SHU",
            "method": CHROMATOGRAPHY,
            "basis": "as-is",
        }
        return Readings(
            **(around | other),
            low=ends,
            high=ends if high is None else np.array(high, dtype=np.float64),
            sample=codes.astype(np.int64),
        )

    return make


@pytest.fixture(scope="session")
def mean():
    """A lot mean given directly, on log scale with six samples unless told otherwise."""

    def make(value, uncertainty, *, high=None, **other):
        around: dict[str, Any] = {
            "characteristic": "heat",
            "unit": "SHU",
            "scale": "log",
            "method": CHROMATOGRAPHY,
            "sampling": uncertainty,
            "method_part": 0.0,
            "within": Within(sigma=uncertainty * 6.0**0.5, degrees=30),
            "samples": 6,
            "readings": 6,
        }
        return LotMean(
            **(around | other),
            low=value,
            high=value if high is None else high,
            uncertainty=uncertainty,
        )

    return make
