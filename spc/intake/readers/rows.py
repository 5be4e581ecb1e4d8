"""Rows that come one by one, gathered into columns."""

from collections.abc import Iterator, Sequence
from typing import Final

import pyarrow as pa

from spc.intake.readers import limits
from spc.intake.readers.header import Rows
from spc.intake.readers.table import TEXT, Block, block, refuse_cells

# Cells that are held as objects before they become columns of text.
_AT_ONCE: Final = 500_000


def blocks(rows: Rows) -> Iterator[Block]:
    """Rows of any length in blocks; a short one is filled with empty cells.

    Raises
    ------
    UnreadableFile
        If a row has too many cells, or a cell too many characters.
    """
    numbers: list[int] = []
    cells: list[list[str]] = []
    widest = 1
    for number, row in rows:
        if len(row) > limits.MOST_COLUMNS:
            raise limits.unreadable(
                f"row {number} has {len(row):,} cells, and more than {limits.MOST_COLUMNS:,} are"
                " not read.",
                "Check the delimiter, and whether line ends were lost.",
            )
        widest = max(widest, len(row))
        numbers.append(number)
        cells.append(row)
        if len(cells) * widest > _AT_ONCE:
            yield _block(numbers, cells, widest)
            numbers, cells, widest = [], [], 1
    if cells:
        yield _block(numbers, cells, widest)


def _block(numbers: Sequence[int], cells: list[list[str]], width: int) -> Block:
    full = [row if len(row) == width else [*row, *[""] * (width - len(row))] for row in cells]
    columns = [_column(numbers, column) for column in zip(*full, strict=True)]
    return block(numbers, columns)


def _column(numbers: Sequence[int], cells: Sequence[str]) -> pa.ChunkedArray:
    try:
        column = pa.chunked_array([cells], type=TEXT)
    except UnicodeEncodeError as problem:
        raise limits.unreadable(
            f"a cell of rows {numbers[0]} to {numbers[-1]} holds half a sign ({problem.reason}).",
            "Ask its source for the file again.",
        ) from problem
    refuse_cells(column, numbers)
    return column
