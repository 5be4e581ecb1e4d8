"""Readings gathered to see how well methods measure: nested, between laboratories, in pairs."""

from typing import Final

import pandas as pd

from spc.charts.lots import EXACT
from spc.store.file.cursors import Cursor
from spc.store.streams import surveys

# Bounds tell nothing of a spread.
ROUTINE: Final = """
    select
        lot.material,
        lot.supplier,
        coalesce(lot.harvest_year::varchar, '') as crop_year,
        lot.lot,
        current_result.sample,
        current_result.instrument,
        current_result.sensor_batch,
        (current_result.value_low + current_result.value_high) / 2 as value
    from current_result
    join lot using (lot)
    where current_result.characteristic = $characteristic
      and current_result.method         = $method
      and ($material = '' or lot.material = $material)
      and current_result.value_low  > 0
      and current_result.value_high <= current_result.value_low * 1.02
    order by
        lot.material, lot.supplier, crop_year, lot.received_at, lot.lot, current_result.sample,
        current_result.replicate, current_result.result
"""

LABORATORIES: Final = """
    select
        current_result.lot        as level,
        control.assigned,
        current_result.instrument as laboratory,
        current_result.replicate,
        current_result.value_low  as value,
        current_result.measured_at
    from current_result
    join control
      on control.control        = current_result.lot
     and control.characteristic = current_result.characteristic
    where current_result.characteristic = $characteristic
      and current_result.method         = $method
      and current_result.value_low      = current_result.value_high
      and current_result.sensor_batch   = ''
      and current_result.instrument    <> ''
    order by control.assigned, level, laboratory, current_result.replicate, current_result.result
"""


def routine(
    cursor: Cursor, *, characteristic: str, method: str, material: str = ""
) -> pd.DataFrame:
    """Every exact reading of lots by one method, with what it is nested in.

    Returns
    -------
    DataFrame
        Columns material, supplier, crop_year, lot, sample, instrument, sensor_batch, value.
    """
    wanted = {"characteristic": characteristic, "method": method, "material": material}
    return cursor.execute(ROUTINE, wanted).df()


def laboratories(cursor: Cursor, *, characteristic: str, method: str) -> pd.DataFrame:
    """What several laboratories read of the same control samples by one method.

    Returns
    -------
    DataFrame
        Columns level (the control sample), assigned, laboratory, replicate, value, measured_at.
    """
    wanted = {"characteristic": characteristic, "method": method}
    return cursor.execute(LABORATORIES, wanted).df()


def pairs(
    cursor: Cursor, *, characteristic: str, method: str, against: str, material: str = ""
) -> pd.DataFrame:
    """Lots measured by two methods, in order of receipt, as they were measured.

    Returns
    -------
    DataFrame
        Columns lot, material, supplier, received_at, unit, scale, x (by `against`), y (by
        `method`), x_samples, y_samples; lots whose value is a bound only are left out.
    """
    points = surveys.survey(cursor, material=material).points
    exact = points[(points["censored"] == EXACT) & (points["characteristic"] == characteristic)]
    shared = ["lot", "material", "supplier", "basis", "received_at", "unit", "scale"]
    x, y = (
        exact[exact["method"] == name][[*shared, "value", "samples"]].rename(
            columns={"value": column, "samples": f"{column}_samples"}
        )
        for name, column in ((against, "x"), (method, "y"))
    )
    both = x.merge(y, on=shared, validate="one_to_one")
    return both.sort_values(["received_at", "lot"], kind="stable", ignore_index=True)
