"""What is known of each lot that a recipe can use: lot means as the lot's own verdict has them."""

from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np
import pandas as pd

from spc.acceptance import Line, LotMean, Readings, Specification
from spc.acceptance.evidence.lot_evidence import LotEvidence
from spc.errors import UnknownName
from spc.store.lots import judgement
from spc.store.lots.gathering import Gathered

COLUMNS: Final = (
    "lot",
    "characteristic",
    "unit",
    "scale",
    "basis",
    "mean",
    "uncertainty",
    "sampling",
    "method_part",
    "method",
    "samples",
    "readings",
    "age_days",
    "bound",
)


def specification_of(gathered: Gathered, lot: str) -> Specification | None:
    """What a lot is judged by; None if its material has no specification."""
    try:
        return judgement.specification_of(gathered.known, gathered.deliveries[lot])
    except UnknownName:
        return None


def line_of(gathered: Gathered, lot: str, characteristic: str) -> Line:
    """The line that limits a characteristic of a lot, or one that limits nothing.

    Of several lines on one characteristic a safety line, else the first.
    """
    asked = specification_of(gathered, lot)
    mine = [
        line for line in (asked.lines if asked else ()) if line.characteristic == characteristic
    ]
    if mine:
        return max(mine, key=lambda line: line.safety)
    [described] = (
        one for one in gathered.known.characteristics if one.characteristic == characteristic
    )
    return Line(characteristic=characteristic, unit=described.unit, scale=described.scale)


def assays(gathered: Gathered, wanted: Sequence[str]) -> pd.DataFrame:
    """The mean of every characteristic that was measured of some lots.

    Returns
    -------
    DataFrame
        One line a lot and characteristic: lot, characteristic, unit, scale, basis, mean,
        uncertainty (standard, in unit), sampling and method_part (its two parts: only the first
        averages out over lots), method, samples, readings, age_days (of the newest reading, NaN
        if no day is known), bound (``"above"`` or ``"below"`` where the mean is known on one side
        only, else empty).

    Notes
    -----
    Of several methods the one that decides the line in the lot's verdict, on the basis of that
    line; a characteristic without a line comes by the least uncertain method, on the basis it was
    reported on.  Certificates are not looked at.  What a safety line limits is left out: it is
    never mixed to a level.
    """
    rows = [row for lot in wanted for row in _of_lot(gathered, lot)]
    return pd.DataFrame(rows, columns=list(COLUMNS))


def assay(evidence: LotEvidence, line: Line) -> tuple[LotMean, Readings] | None:
    """The least uncertain mean that may decide a line, with its readings; None without any."""
    usable = evidence.on_basis_of(line, evidence.deciding(line))
    means = [(evidence.mean(one, line), one) for one in usable]
    return min(means, key=lambda pair: pair[0].uncertainty, default=None)


def bound(mean: LotMean) -> str:
    """Where the truth lies of a mean that is known on one side only; empty if it is known."""
    if np.isinf(mean.high):
        return "above"
    return "below" if mean.is_open else ""


def _of_lot(gathered: Gathered, lot: str) -> Iterable[dict[str, Any]]:
    evidence = gathered.evidence[lot]
    for described in gathered.known.characteristics:
        if described.kind == "absence" or not evidence.own(described.characteristic):
            continue
        line = line_of(gathered, lot, described.characteristic)
        found = None if line.safety or line.requirement == "absent" else assay(evidence, line)
        if found is not None:
            yield _row(lot, line, *found)


def _row(lot: str, line: Line, mean: LotMean, readings: Readings) -> dict[str, Any]:
    in_unit = abs(mean.value) if line.scale == "log" else 1.0
    return {
        "lot": lot,
        "characteristic": line.characteristic,
        "unit": mean.unit,
        "scale": line.scale,
        "basis": readings.basis,
        "mean": mean.value,
        "uncertainty": mean.uncertainty_in_unit,
        "sampling": mean.sampling * in_unit,
        "method_part": mean.method_part * in_unit,
        "method": mean.method.method,
        "samples": mean.samples,
        "readings": mean.readings,
        "age_days": _newest(readings),
        "bound": bound(mean),
    }


def _newest(readings: Readings) -> float:
    """Days since the newest reading; NaN where nobody wrote a day down."""
    ages = readings.age_days
    known = np.empty(0) if ages is None else ages[np.isfinite(ages)]
    return float(known.min()) if known.size else float("nan")
