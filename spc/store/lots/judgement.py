"""Gather the evidence of lots and have it judged."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import asdict, replace
from typing import Any

import numpy as np
import pandas as pd

from spc.acceptance import LotVerdict, Specification, verdict
from spc.errors import UnknownName
from spc.intake import Catalogue
from spc.intake.corrections import AdoptedCorrection
from spc.store.file.cursors import Cursor
from spc.store.lots import controls, gathering
from spc.store.lots.lots import Lot
from spc.store.record import receipts


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
    gathered = gathering.gather(cursor, names, adopting=adopting)
    held = receipts.held(cursor)
    noted = controls.notes(cursor, names)
    found = {}
    for name, evidence in gathered.evidence.items():
        judged = verdict(
            evidence.results,
            proposed or specification_of(gathered.known, gathered.deliveries[name]),
            history=evidence.history,
            planning_cv=evidence.planning_cv,
            untaken=_untaken(held[held["lot"] == name]),
            noted=[*noted.get(name, ()), *gathered.uncorrected[name]],
            waiting_days=evidence.waiting_days,
            retests=evidence.retests,
        )
        found[name] = _told(judged)
    return found


def specification_of(known: Catalogue, delivery: Lot) -> Specification:
    """The newest version in force on the day the lot was received; the first if none was yet.

    Where none was approved but some are proposed, it is one of version 0, with nothing to judge by.

    Raises
    ------
    UnknownName
        If the material has no specification.
    """
    versions = [one for one in known.specifications if one.material == delivery.material]
    if not versions:
        return _unapproved(known, delivery.material)
    day = delivery.received_at.date().isoformat()
    in_force = [one for one in versions if one.effective_from <= day]
    if not in_force:
        return min(versions, key=lambda one: one.version)
    return max(in_force, key=lambda one: (one.effective_from, one.version))


def _unapproved(known: Catalogue, material: str) -> Specification:
    proposed = [one for one in known.proposed if one.material == material]
    if not proposed:
        specified = sorted({one.material for one in known.specifications})
        raise UnknownName("specification", material, known=specified)
    return replace(proposed[0], version=0, approved_by="", reason="", lines=())


def _told(judged: LotVerdict) -> LotVerdict:
    """A verdict that says so where there is nothing to judge by."""
    if judged.specification.version:
        return judged
    return replace(
        judged,
        sentence=f"Hold: the specification of {judged.specification.material} waits for its"
        " approval, so there is nothing to judge the lot by.",
    )


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
