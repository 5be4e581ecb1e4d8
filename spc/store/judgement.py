"""Gather the evidence of lots and have it judged."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, replace
from datetime import date
from typing import Any

import numpy as np
import pandas as pd

from spc.acceptance import (
    LotVerdict,
    Specification,
    verdict,
)
from spc.errors import UnknownName
from spc.intake import Catalogue
from spc.intake.corrections import AdoptedCorrection
from spc.store import catalogue, controls, gathering, lots, receipts, results, surveys
from spc.store.connection import Cursor, now
from spc.store.lots import WAITING, Lot


def verdicts(
    cursor: Cursor,
    names: Sequence[str],
    *,
    proposed: Specification | None = None,
    adopting: Sequence[AdoptedCorrection] = (),
) -> dict[str, LotVerdict]:
    """The verdict of each lot, by the specification in force when it was received.

    Parameters
    ----------
    proposed
        Judges every lot by this one instead, to see what it would have done.
    adopting
        Corrections to see the effect of: as if each had come into force on the day that a lot
        was received.

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
    readings = gathering.readings_of(
        every[every["lot"].isin(list(names))], gathering.methods(cursor), today
    )
    histories = gathering.histories_of(survey, names)
    held = receipts.held(cursor)
    noted = controls.notes(cursor, names)
    retests = results.retests(cursor, alone)
    cvs = {one.material: one.within_lot_cv for one in known.materials}
    found = {}
    for name, delivery in deliveries.items():
        day = delivery.received_at.date()
        adopted = (*known.corrections, *(replace(one, effective_from=day) for one in adopting))
        measured, uncorrected = gathering.corrected(readings.get(name, []), adopted, delivery)
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


def _untaken(held: pd.DataFrame) -> list[str]:
    """Rows that name the lot and wait at intake, a sentence for each file and cause."""
    groups = held.groupby(["name", "code"], sort=False)
    return [
        f"Held at intake, {len(group)} of {group['name'].iloc[0]}: {group['reason'].iloc[0]}"
        for _, group in groups
    ]
