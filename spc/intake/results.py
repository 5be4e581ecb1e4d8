"""Every reading of every row of a file, with what stands around it."""

from collections.abc import Mapping, Sequence
from typing import Final

import numpy as np
import pandas as pd

from spc.derivation import derive
from spc.errors import UnknownLayout
from spc.intake.catalogue import Catalogue
from spc.intake.checks.holds import Holds
from spc.intake.checks.identity import identities
from spc.intake.distinct import constant, stacked
from spc.intake.measures import Asked, missing_dilution, readings
from spc.intake.parts_apart import hold_parts_apart
from spc.intake.profiles.profile import SourceProfile
from spc.intake.profiles.selection import hold_unclaimed, selected
from spc.intake.table.columns import Known, moment, number, text
from spc.intake.table.replicates import (
    NUMBERED,
    as_said,
    in_turn,
    numbered,
    one_number,
    turns,
)

_TEXTS: Final = ("sample", "replicate", "operator", "instrument", "sensor_batch")
_FACTORS: Final = ("extract_volume_mL", "extract_mass_g", "cell_dilution")

RESULT_FACTS: Final = (
    "lot",
    "characteristic",
    "method",
    *_TEXTS,
    "measured_at",
    "reading_text",
    "qualifier",
    "reading",
    "reading_unit",
    "parts",
    *_FACTORS,
    "factors",
    "basis",
    "value_low",
    "value_high",
    "unit",
    "identity",
)


def results_of(
    cells: pd.DataFrame, lot: pd.Series, profile: SourceProfile, known: Known, holds: Holds
) -> pd.DataFrame:
    """Every reading of every row, one line a reading."""
    if not profile.measures:
        return pd.DataFrame(columns=list(RESULT_FACTS), index=cells.index[:0])
    asked = asked_of(profile, known.catalogue)
    _hold_unclaimed(cells, [one for one in asked if one.measure.where], profile, holds)
    around = _around(cells, lot, profile, known, holds)
    frames = [
        _measured(cells, around, one, holds, turn=turn)
        for one, turn in zip(asked, turns([one.measure for one in asked]), strict=True)
    ]
    said = stacked(frames).sort_index(kind="stable")
    return numbered(said, profile, holds)


def _hold_unclaimed(
    cells: pd.DataFrame, asked: Sequence[Asked], profile: SourceProfile, holds: Holds
) -> None:
    """Hold the rows of a long table that report what the profile does not map, or parts of it."""
    if not asked:
        return
    reported = pd.Series(False, index=cells.index)  # noqa: FBT003
    for header in dict.fromkeys(header for one in asked for header in one.measure.read_at):
        reported |= ~cells[header].isin(list(profile.form.missing))
    hold_parts_apart(cells, asked, reported, holds)
    hold_unclaimed(cells, [one.measure.where for one in asked], reported, holds)


def _around(
    cells: pd.DataFrame, lot: pd.Series, profile: SourceProfile, known: Known, holds: Holds
) -> pd.DataFrame:
    """What stands around the readings of each row."""
    around = pd.DataFrame({"lot": lot})
    for meaning in _TEXTS:
        around[meaning] = text(cells, profile.columns, meaning)
    for meaning in NUMBERED:
        said = around[meaning]
        around[meaning] = one_number(said)
        if around[meaning].dtype != said.dtype or not around[meaning].equals(said):
            around[f"{meaning}_said"] = said
    for meaning in _FACTORS:
        around[meaning] = number(text(cells, profile.columns, meaning), meaning, profile, holds)
    measured = text(cells, profile.columns, "measured_at")
    around["measured_at"] = moment(measured, profile, known, holds, what="the time of measurement")
    return around


def asked_of(profile: SourceProfile, catalogue: Catalogue) -> list[Asked]:
    """What each measure of a profile is read as.

    Raises
    ------
    UnknownLayout
        If the catalogue lacks a characteristic or method that the profile names.
    """
    asked = []
    for measure in profile.measures:
        characteristic = catalogue.characteristic(measure.characteristic)
        method = catalogue.method(measure.method, measure.characteristic)
        if characteristic is None or method is None:
            raise UnknownLayout(
                f"profile {profile.profile!r} maps {measure.characteristic} by"
                f" {measure.method}, which the catalogue does not know.",
                remedy="Receive the catalogue that describes this method first.",
            )
        asked.append(
            Asked(measure=measure, characteristic=characteristic, method=method, profile=profile)
        )
    return asked


def _measured(
    cells: pd.DataFrame, around: pd.DataFrame, asked: Asked, holds: Holds, *, turn: int
) -> pd.DataFrame:
    if asked.measure.where:
        cells = cells.loc[selected(cells, asked.measure.where), sorted(asked.measure.headers)]
    read = readings(cells, asked, holds)
    measured = np.isin(around.index, read.index)
    frame = pd.concat([around if measured.all() else around[measured], read], axis="columns")
    frame["replicate"] = in_turn(frame["replicate"], turn)
    frame["characteristic"] = constant(asked.characteristic.characteristic, frame.index)
    frame["method"] = constant(asked.method.method, frame.index)
    frame["unit"] = constant(asked.characteristic.unit, frame.index)
    frame["basis"] = constant(asked.measure.basis, frame.index)
    frame["factors"] = constant(_factors_text(asked.method.factors), frame.index)
    missing_dilution(frame, asked, holds)
    return frame


def _factors_text(factors: Mapping[str, float]) -> str:
    inside = ",".join(f'"{name}":{float(factor)!r}' for name, factor in sorted(factors.items()))
    return f"{{{inside}}}"


def derived(results: pd.DataFrame) -> pd.DataFrame:
    """Results with the ends of the value of each."""
    if results.empty:
        return results.reindex(columns=list(RESULT_FACTS))
    values = derive(results)
    # A row may bring several results, so its number does not single one out.
    return results.assign(**{str(end): values[end].to_numpy() for end in values})


def identified(results: pd.DataFrame) -> pd.DataFrame:
    """With its identity, the longest text of a result by far: only once the held rows are out.

    Where a sample's number was written otherwise than it is kept, the column `identity_said` has
    the identity by which an earlier version kept it; empty elsewhere.
    """
    if results.empty:
        return results.reindex(columns=list(RESULT_FACTS)).astype({"identity": "str"})
    found = results.assign(identity=identities(results))[list(RESULT_FACTS)]
    said, other = as_said(results)
    if other.any():
        found["identity_said"] = ""
        found.loc[other, "identity_said"] = identities(said).to_numpy()
    return found
