"""Rows that contradict themselves: a printed heat or total that its own parts do not give."""

import json
from functools import partial

import numpy as np
import pandas as pd

from spc.acceptance import contradiction, likely_factors
from spc.digits import written
from spc.intake.checks.holds import Holds
from spc.intake.profiles.profile import Measure, SourceProfile
from spc.intake.profiles.selection import selected
from spc.intake.table.dressed import own_units
from spc.intake.table.numbers import numbers

# Rounding of printed figures explains no more.
TOLERANCE = 0.02
_NEARNESS = 0.005


def hold_contradictions(
    cells: pd.DataFrame, results: pd.DataFrame, profile: SourceProfile, holds: Holds
) -> None:
    """Hold the rows whose printed figure departs from what their parts give.

    Parameters
    ----------
    results
        Derived, indexed by source row.
    """
    for measure in profile.measures:
        mine = results[
            (results["characteristic"] == measure.characteristic)
            & (results["method"] == measure.method)
            & np.isin(results.index, cells.index[selected(cells, measure.where)])
        ]
        if mine.empty:
            continue
        if measure.printed:
            derived = (mine["value_low"] + mine["value_high"]) / 2.0
            unit = str(mine["unit"].iloc[0])
            _compare(cells, derived, measure.printed, (measure, profile, unit), holds)
        if measure.printed_total:
            _compare(
                cells, _totals(mine), measure.printed_total, (measure, profile, measure.unit), holds
            )


def _compare(
    cells: pd.DataFrame,
    computed: pd.Series,
    header: str,
    asked: tuple[Measure, SourceProfile, str],
    holds: Holds,
) -> None:
    measure, profile, unit = asked
    texts = cells[header][np.isin(cells.index, computed.index)]
    found = numbers(texts, profile.form, own=own_units(unit))
    holds.add(
        found.unreadable | found.ambiguous,
        "unreadable-number",
        about=texts,
        reason=lambda text: f"{header} {text!r} is not a plain number.",
        remedy="Correct the cell on Intake once its source has said what is meant.",
    )
    comparable = (found.value > 0.0) & (computed > 0.0) & np.isfinite(computed)
    apart = (computed / found.value - 1.0).abs() > TOLERANCE
    holds.add(
        comparable & apart,
        "contradiction",
        about=pd.DataFrame({"printed": found.value, "computed": computed}),
        reason=partial(_told, measure, unit),
        remedy="Ask the laboratory which of the two is right, and by which factor and basis.",
    )


def _told(measure: Measure, unit: str, printed: float, computed: float) -> str:
    apart = contradiction(printed=printed, computed=computed, tolerance=TOLERANCE)
    share = "" if apart is None else f" ({100.0 * apart.deviation:+.1f} %)".replace("-", "−")
    causes = likely_factors(printed / computed, _NEARNESS)
    cause = f" The ratio is that of a known slip: {causes[0].cause}." if causes else ""
    return (
        f"{measure.characteristic} is printed as {written(printed, unit=unit)}, but its own parts"
        f" give {written(computed, unit=unit)}{share}.{cause}"
    )


def _totals(results: pd.DataFrame) -> pd.Series:
    """Sum of the parts of each row, in their own unit."""
    sums = [sum(content for _, content in json.loads(text).values()) for text in results["parts"]]
    return pd.Series(sums, index=results.index, dtype=np.float64)
