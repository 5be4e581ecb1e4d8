"""Streams: the readings of comparable lots, in order of receipt."""

from dataclasses import asdict, dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.errors import MixedUnits, UnknownName
from spc.store.file.cursors import Cursor

KEY: Final = ["material", "supplier", "characteristic", "method", "basis"]


@dataclass(frozen=True, slots=True, kw_only=True, order=True)
class StreamKey:
    """What makes lots comparable: same material, supplier, characteristic, method and basis."""

    material: str
    supplier: str
    characteristic: str
    method: str
    basis: str = "as-is"

    @property
    def name(self) -> str:
        """The stream in one line; a basis that does not matter is not named."""
        return ", ".join(part for part in asdict(self).values() if part)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Stream:
    """Readings of comparable lots, in order of receipt.

    Attributes
    ----------
    unit, scale
        Of the readings.
    lot, received_at, crop_year : shape (lots,)
        Lot numbers, when each came in (UTC), and its year of harvest (NaN if not known).
    low, high : shape (readings,)
        Every current reading as an interval, lot after lot; equal when exact.
    sample : shape (readings,)
        Integer code of the sample within its lot.
    starts : shape (lots,)
        Index in the readings of each lot's first.
    """

    key: StreamKey
    unit: str
    scale: str
    lot: NDArray[np.str_]
    received_at: NDArray[np.datetime64]
    crop_year: NDArray[np.float64]
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    sample: NDArray[np.int64]
    starts: NDArray[np.int64]


READINGS: Final = """
    select
        lot.material,
        lot.supplier,
        current_result.characteristic,
        current_result.method,
        current_result.basis,
        lot.lot,
        lot.received_at,
        lot.harvest_year as crop_year,
        current_result.sample,
        current_result.value_low  as low,
        current_result.value_high as high,
        current_result.unit,
        characteristic.scale
    from current_result
    join lot            using (lot)
    join characteristic using (characteristic)
    where characteristic.kind = 'quantity'
      and ($material       = '' or lot.material                  = $material)
      and ($supplier       = '' or lot.supplier                  = $supplier)
      and ($characteristic = '' or current_result.characteristic = $characteristic)
      and ($method         = '' or current_result.method         = $method)
      and ($basis          = '*' or current_result.basis         = $basis)
      -- A reading that only says "above nothing" or "below everything" bounds nothing.
      and not (current_result.value_low = 0 and isinf(current_result.value_high))
    order by
        lot.material, lot.supplier, current_result.characteristic, current_result.method,
        current_result.basis, lot.received_at, lot.lot, current_result.sample,
        current_result.replicate, current_result.result
"""

KEYS: Final = """
    select distinct
        lot.material, lot.supplier, current_result.characteristic, current_result.method,
        current_result.basis
    from current_result
    join lot            using (lot)
    join characteristic using (characteristic)
    where characteristic.kind = 'quantity'
    order by all
"""


def keys(cursor: Cursor) -> list[StreamKey]:
    """Every stream that has a result."""
    return [
        StreamKey(
            material=material, supplier=supplier, characteristic=one, method=method, basis=basis
        )
        for material, supplier, one, method, basis in cursor.execute(KEYS).fetchall()
    ]


def readings(cursor: Cursor, *, material: str = "", supplier: str = "") -> pd.DataFrame:
    """Readings of all streams, of a material, or of a supplier; stream after stream."""
    wanted = {
        "material": material,
        "supplier": supplier,
        "characteristic": "",
        "method": "",
        "basis": "*",
    }
    return cursor.execute(READINGS, wanted).df()


def stream(cursor: Cursor, key: StreamKey) -> Stream:
    """Read one stream.

    Raises
    ------
    UnknownName
        If it has no result.
    MixedUnits
        If its current results have more than one unit.
    """
    frame = cursor.execute(READINGS, asdict(key)).df()
    name = key.name
    if frame.empty:
        known = [one.name for one in keys(cursor)]
        raise UnknownName("stream", name, known=known)
    units = sorted(frame["unit"].unique())
    if len(units) > 1:
        raise MixedUnits(units, where=name)
    starts = np.flatnonzero(frame["lot"].ne(frame["lot"].shift()).to_numpy())
    lots = frame.iloc[starts]
    return Stream(
        key=key,
        unit=units[0],
        scale=str(frame["scale"].iloc[0]),
        lot=lots["lot"].to_numpy(dtype=np.str_),
        received_at=lots["received_at"].to_numpy(dtype="datetime64[us]"),
        crop_year=lots["crop_year"].to_numpy(dtype=np.float64, na_value=np.nan),
        low=frame["low"].to_numpy(dtype=np.float64),
        high=frame["high"].to_numpy(dtype=np.float64),
        sample=sample_codes(frame),
        starts=starts,
    )


def sample_codes(frame: pd.DataFrame) -> NDArray[np.int64]:
    """A running number that changes wherever the lot or the sample does."""
    columns = [*KEY, "lot", "sample"]
    changes = frame[columns].ne(frame[columns].shift()).any(axis=1)
    return np.cumsum(changes.to_numpy(), dtype=np.int64)
