"""What was measured of lots, by which methods, and what is known around it."""

import math
from collections.abc import Sequence
from datetime import date
from typing import Final, TypeAlias

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.acceptance import Flag, History, Method, Readings, Within
from spc.charts import RULES
from spc.intake.corrections import AdoptedCorrection, in_force
from spc.store import corrections
from spc.store.connection import Cursor, records
from spc.store.lots import Lot
from spc.store.surveys import Survey

METHODS: Final = "select * from method"

# Characteristic and method.
Measured: TypeAlias = tuple[str, str]


def corrected(
    readings: Sequence[Readings], adopted: Sequence[AdoptedCorrection], delivery: Lot
) -> tuple[list[Readings], list[Flag]]:
    """Readings with the corrections their lot falls under, and flags where one was not made."""
    mine = in_force(
        adopted,
        material=delivery.material,
        supplier=delivery.supplier,
        day=delivery.received_at.date(),
    )
    pairs = [corrections.made(one, mine) for one in readings]
    return [one for one, _ in pairs], [flag for _, flag in pairs if flag is not None]


def methods(cursor: Cursor) -> dict[tuple[str, str, int], Method]:
    """Every version of every method, by name, characteristic and version."""
    return {
        (row["method"], row["characteristic"], row["version"]): Method(
            method=row["method"],
            standing=row["standing"],
            screening=row["screening"],
            relative=row["uncertainty_kind"] == "relative",
            standard_uncertainty=row["standard_uncertainty"],
            repeatability=row["repeatability"],
            bias=row["bias"],
        )
        for row in records(cursor, METHODS)
    }


_GROUP: Final = ["lot", "characteristic", "method", "basis"]


def readings_of(
    frame: pd.DataFrame, methods: dict[tuple[str, str, int], Method], today: date
) -> dict[str, list[Readings]]:
    """Every lot's results, one entry a characteristic, method and basis."""
    found: dict[str, list[Readings]] = {}
    if frame.empty:
        return found
    frame = frame.sort_values([*_GROUP, "sample"], kind="stable")
    changed = {name: _changes(frame[name]) for name in (*_GROUP, "sample")}
    group = np.logical_or.reduce([changed[name] for name in _GROUP])
    columns = {
        "sample": np.cumsum(group | changed["sample"]),
        "low": frame["value_low"].to_numpy(dtype=np.float64),
        "high": frame["value_high"].to_numpy(dtype=np.float64),
        "age_days": _ages(frame["measured_at"], today),
    }
    # The newest description of the method that any of the results was measured by.
    starts = np.flatnonzero(group)
    version = np.maximum.reduceat(frame["method_version"].to_numpy(dtype=np.int64), starts)
    heads = frame.iloc[starts][[*_GROUP, "unit"]].itertuples(index=False, name=None)
    ends = np.append(starts[1:], len(frame))
    for head, newest, start, end in zip(heads, version, starts, ends, strict=True):
        lot, characteristic, method, basis, unit = map(str, head)
        entry = Readings(
            characteristic=characteristic,
            unit=unit,
            method=methods[method, characteristic, int(newest)],
            basis=basis,
            **{name: column[start:end] for name, column in columns.items()},
        )
        found.setdefault(lot, []).append(entry)
    return found


def _changes(column: pd.Series) -> NDArray[np.bool_]:
    return column.ne(column.shift()).to_numpy(dtype=np.bool_)


def _ages(measured_at: pd.Series, today: date) -> NDArray[np.float64]:
    """Whole days since each reading was measured; NaN where no day is known."""
    passed = pd.Timestamp(today) - measured_at.dt.normalize()
    return np.asarray(passed.dt.days, dtype=np.float64)


def histories_of(survey: Survey, lots: Sequence[str]) -> dict[str, dict[Measured, History]]:
    """What the other lots of each lot's streams tell, by characteristic and method."""
    found: dict[str, dict[Measured, History]] = {lot: {} for lot in lots}
    points = survey.points[survey.points["lot"].isin(found)]
    marks = survey.marks[points.index]
    rules = np.array(tuple(RULES))
    for row, marked in zip(points.to_dict("records"), marks, strict=True):
        found[row["lot"]][row["characteristic"], row["method"]] = History(
            within=Within(sigma=row["within"], degrees=int(row["degrees"])),
            usual=math.exp(row["center"]) if row["scale"] == "log" else row["center"],
            lots=int(row["size"]),
            signals=tuple(rules[marked].tolist()),
        )
    return found
