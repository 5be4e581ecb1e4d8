"""A row of units below the header that the source profile does not speak of."""

from collections.abc import Mapping
from dataclasses import replace

import numpy as np
import pandas as pd

from spc import units
from spc.errors import UnknownUnit
from spc.intake.checks.holds import Holds
from spc.intake.profiles.profile import SourceProfile
from spc.intake.readers import Table
from spc.intake.readers.frame import is_unit_row


def unit_row(table: Table) -> tuple[Table, Mapping[str, str]]:
    """The table without a first row of units, and what that row says, by header."""
    if table.cells.empty:
        return table, {}
    row = table.cells.iloc[0]
    said = {header: str(row[header]) for header in table.headers if row[header]}
    if not is_unit_row(list(said.values())):
        return table, {}
    rest = replace(table, cells=table.cells.iloc[1:])
    return rest, {header: units.spelled(text.strip("[]() ")) for header, text in said.items()}


def hold_other_units(
    cells: pd.DataFrame, stated: Mapping[str, str], profile: SourceProfile, holds: Holds
) -> None:
    """Hold the rows of which the row of units says another unit than the source profile."""
    for measure in profile.measures:
        for header in measure.read_at:
            unit = stated.get(header, "")
            if not unit or not measure.unit or _same(unit, measure.unit):
                continue
            holds.add(
                ~cells[header].isin(list(profile.form.missing)),
                "unit-contradicted",
                reason=f"The row below the header says {unit} of {header}, and the source profile"
                f" {measure.unit}.",
                remedy="Ask the source which is right; if it is the row, receive the next version"
                " of the source profile and check the file again.",
            )


def _same(unit: str, other: str) -> bool:
    try:
        return bool(np.isclose(units.factor(unit, to=units.spelled(other)), 1.0, rtol=1e-12))
    except UnknownUnit:
        return unit == units.spelled(other)
