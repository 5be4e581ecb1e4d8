"""Versions of a method: what was stated of it from when on, and in whose file."""

from typing import Final

import pandas as pd

from spc.store.file.cursors import Cursor

EVERY: Final = """
    select
        method.* exclude (receipt, entry),
        receipt.receipt,
        receipt.name as file,
        receipt.bytes as content,
        receipt.received_by,
        receipt.received_at
    from method
    join receipt using (receipt)
    where method.characteristic = $characteristic
      and method.method         = $method
    order by method.version
"""


def every(cursor: Cursor, *, characteristic: str, method: str) -> pd.DataFrame:
    """Every version of how one method measures one characteristic, oldest first.

    Returns
    -------
    DataFrame
        The columns of `MeasuringMethod` with version; receipt, file, content (the bytes that
        brought it), received_by and received_at.
    """
    return cursor.execute(EVERY, {"characteristic": characteristic, "method": method}).df()
