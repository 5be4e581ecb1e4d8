"""Frames handed to the engine in columns, so that no row becomes a Python object on the way."""

import contextlib
from collections.abc import Iterator
from typing import Final

import pandas as pd
import pyarrow as pa

from spc.store.file.cursors import Cursor

# The engine's own group of rows: batches of that size are taken in by several threads at once.
_ROWS: Final = 122_880


@contextlib.contextmanager
def framed(cursor: Cursor, frame: pd.DataFrame) -> Iterator[None]:
    """Let one statement read a frame, once, under the name ``frame``.

    It is handed over as a stream: what is registered stays with the engine until the transaction
    ends, and a stream that has run dry holds no memory.
    """
    table = pa.Table.from_pandas(frame, preserve_index=False)
    batches = iter(table.to_batches(_ROWS))
    cursor.register("frame", pa.RecordBatchReader.from_batches(table.schema, batches))
    del table
    try:
        yield
    finally:
        cursor.unregister("frame")
