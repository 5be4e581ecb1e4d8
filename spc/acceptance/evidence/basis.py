"""Readings brought from the basis they were reported on to the one a line is limited on."""

import math
from dataclasses import replace

import numpy as np

from spc import heat
from spc.acceptance.evidence.evidence import LotMean, Readings


def on_basis(readings: Readings, basis: str, *, moisture: LotMean | None) -> Readings | None:
    """The same readings on another basis; None if that cannot be said.

    Parameters
    ----------
    readings
        On the basis they were reported on.
    basis
        ``"as-is"``, ``"dry"``, or empty where water does not matter.
    moisture
        The lot's own moisture, g/100 g; of no use outside 0 to 100.

    Returns
    -------
    Readings or None
        With a method whose standard uncertainty also holds that of the moisture.

    References
    ----------
    JCGM 100:2008, 5.1.2: value and moisture are measured independently.
    """
    if basis in ("", readings.basis):
        return readings
    if moisture is None or not 0.0 <= moisture.value < 100.0:
        return None
    if readings.basis not in ("as-is", "dry"):
        return None
    convert = heat.dry_basis if basis == "dry" else heat.as_is_basis
    water = np.float64(moisture.value)
    low, high = convert(readings.low, water), convert(readings.high, water)
    share = moisture.uncertainty_in_unit / (100.0 - moisture.value)
    method = readings.method
    if not method.relative:
        share *= float(np.where(np.isfinite(high), (low + high) / 2.0, low).mean())
        method = replace(
            method,
            standard_uncertainty=float(convert(method.standard_uncertainty, water)),
            repeatability=float(convert(method.repeatability, water)),
        )
    wider = math.hypot(method.standard_uncertainty, share)
    return replace(
        readings,
        low=low,
        high=high,
        basis=basis,
        method=replace(method, standard_uncertainty=wider),
    )
