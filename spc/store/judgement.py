"""Gather the evidence of lots and have it judged."""

import math
from collections.abc import Sequence
from dataclasses import asdict
from typing import Any, Final

import numpy as np
import pandas as pd

from spc.acceptance import (
    History,
    LotVerdict,
    Method,
    Readings,
    Specification,
    Within,
    verdict,
)
from spc.errors import UnknownName
from spc.intake import Catalogue
from spc.store import catalogue, lots, receipts, results, surveys
from spc.store.connection import Cursor, records
from spc.store.lots import Lot
from spc.store.surveys import Survey

METHODS: Final = "select * from method"


def verdicts(cursor: Cursor, names: Sequence[str]) -> dict[str, LotVerdict]:
    """The verdict of each lot, by the specification in force when it was received.

    Raises
    ------
    UnknownName
        If a lot is not in the store, or its material has no specification yet.
    """
    known = catalogue.load(cursor)
    deliveries = {name: lots.one(cursor, name) for name in names}
    # One lot needs the streams of one supplier and material; a queue needs them all.
    alone = deliveries[names[0]] if len(names) == 1 else None
    survey = surveys.survey(
        cursor,
        material=alone.material if alone else "",
        supplier=alone.supplier if alone else "",
    )
    every = results.current(cursor, alone.lot if alone else "")
    by_lot = {str(lot): frame for lot, frame in every.groupby("lot")}
    methods = _methods(cursor)
    signals = survey.signals()
    held = receipts.held(cursor)
    cvs = {one.material: one.within_lot_cv for one in known.materials}
    return {
        name: verdict(
            _readings(by_lot.get(name), methods),
            specification_of(known, delivery),
            history=_history(name, survey, signals),
            planning_cv=cvs[delivery.material],
            untaken=_untaken(held[held["lot"] == name]),
        )
        for name, delivery in deliveries.items()
    }


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


def _readings(
    frame: pd.DataFrame | None, methods: dict[tuple[str, str, int], Method]
) -> list[Readings]:
    """The lot's results, one entry a characteristic, method and basis."""
    if frame is None:
        return []
    groups = frame.groupby(["characteristic", "method", "basis"], sort=True)
    return [_entry(group, methods) for _, group in groups]


def _entry(group: pd.DataFrame, methods: dict[tuple[str, str, int], Method]) -> Readings:
    first = group[["characteristic", "method", "basis", "unit"]].astype("str").iloc[0]
    # The newest description of the method that any of these results was measured by.
    version = int(group["method_version"].max())
    return Readings(
        characteristic=first["characteristic"],
        unit=first["unit"],
        method=methods[first["method"], first["characteristic"], version],
        basis=first["basis"],
        low=group["value_low"].to_numpy(dtype=np.float64),
        high=group["value_high"].to_numpy(dtype=np.float64),
        sample=pd.factorize(group["sample"])[0].astype(np.int64),
    )


def _untaken(held: pd.DataFrame) -> list[str]:
    """Rows that name the lot and wait at intake, a sentence for each file and cause."""
    groups = held.groupby(["name", "code"], sort=False)
    return [
        f"Held at intake, {len(group)} of {group['name'].iloc[0]}: {group['reason'].iloc[0]}"
        for _, group in groups
    ]


def _history(lot: str, survey: Survey, signals: pd.DataFrame) -> dict[tuple[str, str], History]:
    mine = survey.points[survey.points["lot"] == lot]
    told = signals[signals["lot"] == lot]
    return {
        (row["characteristic"], row["method"]): History(
            within=Within(sigma=row["within"], degrees=int(row["degrees"])),
            usual=math.exp(row["center"]) if row["scale"] == "log" else row["center"],
            lots=int(row["size"]),
            signals=tuple(told.loc[told["stream"] == row["stream"], "rule"]),
        )
        for row in mine.to_dict("records")
    }
