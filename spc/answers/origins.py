"""Where a number comes from: its reading, its row, who mended it, and the file's bytes."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from spc.heat import Chain
from spc.store import Store


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NumberOrigin:
    """One value traced back to the file that brought it.

    Attributes
    ----------
    result
        Where it came from, as the store tells it.
    chain
        Worked out step by step from the reading.
    row
        The row as it came, by header.
    mends
        What people put into the cells of this row; empty where nobody did.
    file, content
        Name and bytes of the file as it was received.
    """

    result: Mapping[str, Any]
    chain: Chain
    row: Mapping[str, str]
    mends: pd.DataFrame
    file: str
    content: bytes


def origin_of_number(store: Store, result: str) -> NumberOrigin:
    """How a value came about, and where from.

    Parameters
    ----------
    store
        Is read only.
    result
        Key of the result.

    Returns
    -------
    NumberOrigin

    Raises
    ------
    UnknownName
        If there is no such result.
    """
    one, chain, row = store.calculation(result)
    mends = store.intake.mends(one["receipt"])
    file, content = store.receipt_bytes(one["receipt"])
    return NumberOrigin(
        result=one,
        chain=chain,
        row=row,
        mends=mends[mends["source_row"] == one["source_row"]],
        file=file,
        content=content,
    )
