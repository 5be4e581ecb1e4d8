"""Gather the evidence of lots and have it judged."""

import hashlib
import json
import math
from collections.abc import Sequence
from dataclasses import asdict
from datetime import date
from typing import Any, Final, TypeAlias

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.acceptance import (
    Flag,
    History,
    LotVerdict,
    Method,
    Readings,
    Specification,
    Within,
    verdict,
)
from spc.charts import RULES
from spc.errors import UnknownName
from spc.intake import Catalogue
from spc.intake.corrections import in_force
from spc.store import catalogue, controls, corrections, lots, receipts, results, surveys
from spc.store.connection import Cursor, now, records
from spc.store.lots import WAITING, Lot
from spc.store.surveys import Survey

METHODS: Final = "select * from method"

# Characteristic and method.
Measured: TypeAlias = tuple[str, str]


def verdicts(
    cursor: Cursor, names: Sequence[str], *, proposed: Specification | None = None
) -> dict[str, LotVerdict]:
    """The verdict of each lot, by the specification in force when it was received.

    Parameters
    ----------
    proposed
        Judges every lot by this one instead, to see what it would have done.

    Raises
    ------
    UnknownName
        If a lot is not in the store, or its material has no specification yet.
    """
    known = catalogue.load(cursor)
    deliveries = lots.several(cursor, names)
    # Lots of one material, or of one supplier, need no other's streams.
    survey = surveys.survey(
        cursor,
        material=_only({one.material for one in deliveries.values()}),
        supplier=_only({one.supplier for one in deliveries.values()}),
    )
    alone, today = _only(set(deliveries)), today_of(known)
    every = results.current(cursor, alone)
    readings = _readings(every[every["lot"].isin(list(names))], _methods(cursor), today)
    histories = _histories(survey, names)
    held = receipts.held(cursor)
    noted = controls.notes(cursor, names)
    retests = results.retests(cursor, alone)
    cvs = {one.material: one.within_lot_cv for one in known.materials}
    found = {}
    for name, delivery in deliveries.items():
        measured, uncorrected = _corrected(readings.get(name, []), known, delivery)
        found[name] = verdict(
            measured,
            proposed or specification_of(known, delivery),
            history=histories[name],
            planning_cv=cvs[delivery.material],
            untaken=_untaken(held[held["lot"] == name]),
            noted=[*noted.get(name, ()), *uncorrected],
            waiting_days=_waiting_days(delivery, today),
            retests=retests.get(name),
        )
    return found


def _corrected(
    readings: Sequence[Readings], known: Catalogue, delivery: Lot
) -> tuple[list[Readings], list[Flag]]:
    """Readings with the corrections their lot falls under, and flags where one was not made."""
    adopted = in_force(
        known.corrections,
        material=delivery.material,
        supplier=delivery.supplier,
        day=delivery.received_at.date(),
    )
    pairs = [corrections.made(one, adopted) for one in readings]
    return [one for one, _ in pairs], [flag for _, flag in pairs if flag is not None]


def _only(names: set[str]) -> str:
    """The one name there is; empty, which means all, if there are several."""
    return next(iter(names)) if len(names) == 1 else ""


def today_of(known: Catalogue) -> date:
    """The day it is; the demo stands still at its own."""
    return date.fromisoformat(known.today) if known.today else now().date()


def _waiting_days(delivery: Lot, today: date) -> int | None:
    """Days since receipt of a lot that waits for a decision; None for one that does not."""
    if delivery.decision not in WAITING:
        return None
    return (today - delivery.received_at.date()).days


def specification_of(known: Catalogue, delivery: Lot) -> Specification:
    """The newest version in force on the day the lot was received; the first if none was yet.

    Raises
    ------
    UnknownName
        If the material has no specification.
    """
    versions = [one for one in known.specifications if one.material == delivery.material]
    if not versions:
        specified = sorted({one.material for one in known.specifications})
        raise UnknownName("specification", delivery.material, known=specified)
    day = delivery.received_at.date().isoformat()
    in_force = [one for one in versions if one.effective_from <= day]
    if not in_force:
        return min(versions, key=lambda one: one.version)
    return max(in_force, key=lambda one: (one.effective_from, one.version))


def fingerprint(judged: LotVerdict) -> str:
    """A short name of the evidence a verdict rests on."""
    text = json.dumps(snapshot(judged), sort_keys=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def snapshot(judged: LotVerdict) -> dict[str, Any]:
    """A verdict as plain values: what a signature rests on, and what `review --json` prints."""
    return {
        "recommendation": judged.recommendation,
        "sentence": judged.sentence,
        "specification": {
            "material": judged.specification.material,
            "version": judged.specification.version,
            "approved_by": judged.specification.approved_by,
            "effective_from": judged.specification.effective_from,
        },
        "lines": [_line(one) for one in judged.lines],
        "flags": [asdict(flag) for flag in judged.flags],
    }


def _line(one: Any) -> dict[str, Any]:
    mean = one.mean
    return {
        **asdict(one.line),
        "outcome": one.outcome,
        "probability": [None if np.isnan(p) else p for p in one.probability],
        "value": None if mean is None else mean.value,
        "uncertainty": None if mean is None else mean.uncertainty_in_unit,
        "samples": 0 if mean is None else mean.samples,
        "readings": 0 if mean is None else mean.readings,
        "method": "" if mean is None else mean.method.method,
        "correction": "" if mean is None else mean.method.correction,
        "reason": one.reason,
        "remedy": one.remedy,
    }


def _methods(cursor: Cursor) -> dict[tuple[str, str, int], Method]:
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


def _readings(
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


def _untaken(held: pd.DataFrame) -> list[str]:
    """Rows that name the lot and wait at intake, a sentence for each file and cause."""
    groups = held.groupby(["name", "code"], sort=False)
    return [
        f"Held at intake, {len(group)} of {group['name'].iloc[0]}: {group['reason'].iloc[0]}"
        for _, group in groups
    ]


def _histories(survey: Survey, lots: Sequence[str]) -> dict[str, dict[Measured, History]]:
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
