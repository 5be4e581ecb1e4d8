"""What was measured of lots, by which methods, and what is known around it."""

import math
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final, TypeAlias

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.acceptance import Flag, History, Method, Readings, Within
from spc.acceptance.evidence.lot_evidence import LotEvidence
from spc.charts import RULES
from spc.intake import Catalogue
from spc.intake.corrections import AdoptedCorrection, in_force
from spc.store.catalogue import catalogue, corrections, method_versions
from spc.store.file.cursors import Cursor, records
from spc.store.lots import lots, results
from spc.store.lots.lots import WAITING, Lot
from spc.store.people import stands_still
from spc.store.record import audit
from spc.store.streams import surveys
from spc.store.streams.surveys import Survey

METHODS: Final = "select * from method order by method, characteristic, version"

# Characteristic and method.
Measured: TypeAlias = tuple[str, str]
# By name, characteristic and version.
Methods: TypeAlias = Mapping[tuple[str, str, int], Method]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gathered:
    """Several lots with all that was measured of them, read in one pass.

    Attributes
    ----------
    known
        The catalogue.
    today
        The day it is.
    deliveries, evidence
        By lot.
    uncorrected
        By lot: flags where a correction it falls under was not made.
    """

    known: Catalogue
    today: date
    deliveries: Mapping[str, Lot]
    evidence: Mapping[str, LotEvidence]
    uncorrected: Mapping[str, Sequence[Flag]]


def gather(
    cursor: Cursor, names: Collection[str], *, adopting: Sequence[AdoptedCorrection] = ()
) -> Gathered:
    """Everything measured of some lots, with what is known around it.

    Verdicts, recipes and predictions all rest on this, so that none can rest on other numbers.

    Parameters
    ----------
    adopting
        Corrections to see the effect of: as if each had come into force on the day that a lot
        was received.

    Raises
    ------
    UnknownName
        If a lot is not in the store.
    """
    known = catalogue.load(cursor)
    today = today_of(cursor)
    deliveries = lots.several(cursor, sorted(set(names))) if names else {}
    if not deliveries:
        return Gathered(known=known, today=today, deliveries={}, evidence={}, uncorrected={})
    alone = _only(set(deliveries))
    frame = results.current(cursor, alone)
    readings = readings_of(frame[frame["lot"].isin(deliveries)], methods(cursor), today)
    # Lots of one material, or of one supplier, need no other's streams.
    survey = surveys.survey(
        cursor,
        material=_only({one.material for one in deliveries.values()}),
        supplier=_only({one.supplier for one in deliveries.values()}),
    )
    histories = histories_of(survey, list(deliveries))
    retests = results.retests(cursor, alone)
    cvs = {one.material: one.within_lot_cv for one in known.materials}
    evidence, uncorrected = {}, {}
    for lot, delivery in deliveries.items():
        adopted = _adopted(known.corrections, adopting, delivery)
        pairs = [corrections.made(one, adopted) for one in readings.get(lot, [])]
        evidence[lot] = LotEvidence(
            results=[one for one, _ in pairs],
            history=histories[lot],
            planning_cv=cvs[delivery.material],
            waiting_days=_waiting_days(delivery, today),
            retests=retests.get(lot, {}),
        )
        uncorrected[lot] = [flag for _, flag in pairs if flag is not None]
    return Gathered(
        known=known,
        today=today,
        deliveries=deliveries,
        evidence=evidence,
        uncorrected=uncorrected,
    )


def today_of(cursor: Cursor) -> date:
    """The day it is; a store for trying things out stands still where its administrator signed."""
    return stands_still(cursor) or audit.moment(cursor).date()


def _only(names: set[str]) -> str:
    """The one name there is; empty, which means all, if there are several."""
    return next(iter(names)) if len(names) == 1 else ""


def _waiting_days(delivery: Lot, today: date) -> int | None:
    """Days since receipt of a lot that waits for a decision; None for one that does not."""
    if delivery.decision not in WAITING:
        return None
    return (today - delivery.received_at.date()).days


def _adopted(
    known: Sequence[AdoptedCorrection], adopting: Sequence[AdoptedCorrection], delivery: Lot
) -> dict[Measured, AdoptedCorrection]:
    day = delivery.received_at.date()
    return in_force(
        [*known, *(replace(one, effective_from=day) for one in adopting)],
        material=delivery.material,
        supplier=delivery.supplier,
        day=day,
    )


def methods(cursor: Cursor) -> Methods:
    """Every version of every method, the newest of each last."""
    return {
        (row["method"], row["characteristic"], row["version"]): method_versions.method_of(
            row
        ).as_method()
        for row in records(cursor, METHODS)
    }


_GROUP: Final = ["lot", "characteristic", "method", "basis"]


def readings_of(frame: pd.DataFrame, methods: Methods, today: date) -> dict[str, list[Readings]]:
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
