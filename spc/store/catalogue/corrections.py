"""Adopted corrections: every version kept, and the one that a lot falls under put to use."""

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Final

import numpy as np

from spc.acceptance import Flag, Method, Readings
from spc.compare.between_methods.warrants import as_method_figures
from spc.digits import written
from spc.errors import BadCatalogue
from spc.intake.corrections import AdoptedCorrection
from spc.store.catalogue.approvals import Key, Standing, key_of
from spc.store.file.cursors import Cursor, records
from spc.store.record import rows

_FACTS: Final = tuple(one.name for one in fields(AdoptedCorrection))

EVERY: Final = f"""
    select {", ".join(f'"{name}"' for name in _FACTS)}
    from correction
    order by method, characteristic, material, supplier, version
"""  # noqa: S608


def every(cursor: Cursor) -> tuple[AdoptedCorrection, ...]:
    """Every version of every correction, also those that wait for their approval."""
    return tuple(AdoptedCorrection(**row) for row in records(cursor, EVERY))


def approved(
    received: Sequence[AdoptedCorrection], standing: Mapping[Key, Standing]
) -> tuple[AdoptedCorrection, ...]:
    """Those of some corrections that were approved, from the day and for the reason approved."""
    return tuple(
        replace(one, **standing[key]._asdict())
        for one in received
        if (key := key_of(one)) in standing
    )


def save(cursor: Cursor, said: Sequence[AdoptedCorrection], *, receipt: str, by: str) -> int:
    """Keep the versions that are new as proposals of a person; returns how many.

    Raises
    ------
    BadCatalogue
        If a version is kept with other figures.
    """
    kept = {(one.characteristic, one.name): one for one in every(cursor)}
    fresh = 0
    for one in said:
        same = kept.get((one.characteristic, one.name))
        if same is not None and same != one:
            raise BadCatalogue(
                "this version is in the store with other figures.",
                where=one.name,
                remedy="Give the changed correction the next version number and a date.",
            )
        if same is None:
            facts = {name: getattr(one, name) for name in _FACTS}
            rows.insert(cursor, "correction", [{**facts, "receipt": receipt, "proposed_by": by}])
            fresh += 1
    return fresh


def made(
    readings: Readings, adopted: Mapping[tuple[str, str], AdoptedCorrection]
) -> tuple[Readings, Flag | None]:
    """Readings with the correction that their lot falls under, or a flag that it was not made.

    Parameters
    ----------
    readings
        As they were measured.
    adopted
        By method and characteristic, what is in force for the lot.
    """
    one = adopted.get((readings.method.method, readings.characteristic))
    if one is None:
        return readings, None
    at = _level(readings)
    if not one.lowest <= at <= one.highest:
        return readings, _not_made(one, readings, at)
    return replace(readings, method=_corrected(readings.method, one, at)), None


def _corrected(method: Method, one: AdoptedCorrection, at: float) -> Method:
    figures = as_method_figures(one, method, at=at)
    return replace(
        method,
        bias=figures.bias,
        standard_uncertainty=figures.standard_uncertainty,
        correction=one.name,
    )


def _level(readings: Readings) -> float:
    """Where the readings lie; a bound counts with its known end."""
    ends = np.where(np.isfinite(readings.high), readings.high, readings.low)
    return float(np.mean((readings.low + ends) / 2.0))


def _not_made(one: AdoptedCorrection, readings: Readings, at: float) -> Flag:
    unit = readings.unit
    return Flag(
        name="not corrected",
        sentence=f"{readings.characteristic}: {written(at, unit=unit)} lies outside the"
        f" {written(one.lowest)} to {written(one.highest, unit=unit)} that {one.name} rests on; it"
        " was not made.",
    )
