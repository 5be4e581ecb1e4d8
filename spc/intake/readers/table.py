"""Columns of text, put together into the table that everything above reads."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from spc.intake.marks import NONE, Marks
from spc.intake.readers import limits

# Header of the cells that a row has beyond the file's header.
SURPLUS: Final = "\x00surplus"

TEXT: Final = pa.large_string()
# First bytes, last bytes that a blank may have in UTF-8; all others need no trimming.
_BLANK_FIRST: Final = np.isin(np.arange(256), [*range(0x21), 0xC2, 0xE1, 0xE2, 0xE3])
_BLANK_LAST: Final = np.isin(np.arange(256), [*range(0x21), *range(0x80, 0xC0)])


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The rows of a file below its header, every cell as text.

    Attributes
    ----------
    cells
        One column a header, and `SURPLUS`; the index is the row's number in the file, counted
        from 1: the line it begins on, the row of the sheet, or the place in the list.
    marks
        What a workbook says of cells besides their texts.
    """

    headers: tuple[str, ...]
    cells: pd.DataFrame
    marks: Marks = NONE


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Block:
    """Rows of a file that have been split into cells.

    Attributes
    ----------
    numbers : shape (rows,)
        Of each row in the file.
    columns : each of shape (rows,)
        Texts without blanks around them.
    """

    numbers: NDArray[np.int64]
    columns: list[pa.ChunkedArray]

    def only(self, keep: pa.ChunkedArray) -> "Block":
        """The rows marked by `keep`, shape (rows,)."""
        return Block(
            numbers=self.numbers[keep.to_numpy()],
            columns=[column.filter(keep) for column in self.columns],
        )


def block(numbers: Sequence[int] | NDArray[np.int64], columns: list[pa.ChunkedArray]) -> Block:
    """Rows from their columns as they came; `columns` is emptied, so that no text is held twice."""
    trimmed = []
    while columns:
        trimmed.append(_trimmed(columns.pop(0)))
    return Block(numbers=np.asarray(numbers, dtype=np.int64), columns=trimmed)


def refuse_cells(column: pa.ChunkedArray, numbers: Sequence[int] | NDArray[np.int64]) -> None:
    """Refuse texts that are too long, or that no database or spreadsheet would carry whole.

    Raises
    ------
    UnreadableFile
        With the first such row.
    """
    place = pc.index(pc.match_substring(column, "\0"), value=True).as_py()
    if place >= 0:
        raise limits.unreadable(
            f"a cell of row {numbers[place]} holds the sign NUL.",
            "Ask its source for a file without it; it may be damaged.",
        )
    # Bytes first: no text has more characters than bytes.
    if (pc.max(pc.binary_length(column)).as_py() or 0) > limits.LONGEST_CELL:
        too_long = pc.greater(pc.utf8_length(column), limits.LONGEST_CELL)
        place = pc.index(too_long, value=True).as_py()
        if place >= 0:
            raise limits.long_cell(numbers[place])


def without_idle_rows(rows: Block, comment: str) -> Block:
    """The rows that are neither blank nor a comment."""
    idle = pc.equal(rows.columns[0], "")
    for column in rows.columns[1:]:
        if not pc.any(idle).as_py():
            break
        idle = pc.and_(idle, pc.equal(column, ""))
    if comment:
        idle = pc.or_(idle, pc.starts_with(rows.columns[0], comment))
    return rows.only(pc.invert(idle)) if pc.any(idle).as_py() else rows


def table(headers: tuple[str, ...], blocks: Iterable[Block]) -> Table:
    """Blocks of rows, in any order, as one table in the order of the file.

    Raises
    ------
    UnreadableFile
        If the table would be beyond the limits.
    """
    limits.refuse_shape(1, len(headers))
    _refuse_names(headers)
    fitted: list[Block] = []
    rows = 0
    for each in blocks:
        rows += each.numbers.size
        limits.refuse_shape(rows, len(headers))
        if each.numbers.size:
            fitted.append(_fitted(each, len(headers)))
    numbers = np.concatenate([np.empty(0, np.int64), *(each.numbers for each in fitted)])
    order = np.argsort(numbers, kind="stable") if np.any(np.diff(numbers) < 0) else None
    columns = {
        name: _joined([each.columns[place] for each in fitted], order)
        for place, name in enumerate([*headers, SURPLUS])
    }
    index = pd.Index(np.sort(numbers), dtype="int64", name="source_row")
    return Table(headers=headers, cells=pd.DataFrame(columns, index=index, copy=False))


def _refuse_names(headers: tuple[str, ...]) -> None:
    whole = "".join(headers)
    if "\0" in whole or whole.encode(errors="replace").decode() != whole:
        raise limits.unreadable(
            "the name of a column is no text.", "Ask its source for the file again."
        )


def _joined(
    parts: list[pa.ChunkedArray], order: NDArray[np.intp] | None
) -> pd.api.extensions.ExtensionArray:
    whole = pa.chunked_array([chunk for part in parts for chunk in part.chunks], type=TEXT)
    texts: pd.api.extensions.ExtensionArray = pd.array(whole, dtype="str")
    return texts if order is None else texts.take(order)


def _fitted(rows: Block, width: int) -> Block:
    """As many columns as there are headers, and the surplus of each row in one more."""
    size = rows.numbers.size
    empty = pa.chunked_array([pa.repeat(pa.scalar("", TEXT), size)])
    missing = [empty] * (width - len(rows.columns))
    surplus = empty
    for column in rows.columns[width:]:
        if pc.any(pc.not_equal(column, "")).as_py():
            both = pc.and_(pc.not_equal(surplus, ""), pc.not_equal(column, ""))
            between = pc.if_else(both, pa.scalar(" ", TEXT), pa.scalar("", TEXT))
            surplus = pc.binary_join_element_wise(surplus, column, between)
    return Block(numbers=rows.numbers, columns=[*rows.columns[:width], *missing, surplus])


def _trimmed(column: pa.ChunkedArray) -> pa.ChunkedArray:
    # Looking at both ends of every text takes a tenth of the time of trimming it.
    return pc.utf8_trim_whitespace(column) if any(map(_may_have_blanks, column.chunks)) else column


def _may_have_blanks(texts: pa.LargeStringArray) -> bool:
    _, offsets, content = texts.buffers()
    if content is None or not content.size:
        return False
    ends = np.frombuffer(offsets, np.int64)[texts.offset : texts.offset + len(texts) + 1]
    first = np.frombuffer(content, np.uint8)[np.minimum(ends[:-1], content.size - 1)]
    last = np.frombuffer(content, np.uint8)[np.maximum(ends[1:] - 1, 0)]
    return bool(np.any(_BLANK_FIRST[first]) or np.any(_BLANK_LAST[last]))
