"""Delimited text of any dialect to a table."""

import itertools
import re
from collections.abc import Iterator
from dataclasses import replace
from typing import Final, Literal

import numpy as np
import pyarrow as pa
import pyarrow.csv as pa_csv
from numpy.typing import NDArray

from spc.intake.profiles.profile import FileForm
from spc.intake.readers.header import head
from spc.intake.readers.layout import Layout, layout
from spc.intake.readers.rows import blocks
from spc.intake.readers.table import TEXT, Block, Table, block, table, without_idle_rows
from spc.intake.readers.text import Records, past_lines, utf8

# A first line that spreadsheet programs write and obey: it names the delimiter, and is no row.
_DECLARED: Final = re.compile(rb"sep=([^\w\s\"]|\t)[ \t]*(?:\r\n|\n|\r)", re.IGNORECASE)
# Bytes that are read one by one sooner than they are looked at.
_FEW: Final = 1 << 15
# Larger than any record that a layout allows.
_PARSED_AT_ONCE: Final = 1 << 22


def read(content: bytes, form: FileForm) -> Table:
    """Read delimited text.

    Raises
    ------
    UnreadableFile
        If the bytes are no text, there is no header, or a quote is damaged.
    """
    text = utf8(content, form.encoding)
    start, delimiter = declared(text)
    form = replace(form, delimiter=delimiter or form.delimiter)
    records = Records(text, form.delimiter, start=start, before=1 if start else 0)
    headers = head(records, form)
    return table(headers, rows_below(text, records.line, form))


def rows_above(content: bytes, form: FileForm, line: int) -> int:
    """How many rows, blank ones too, stand above a line: what `skip_rows` would pass over."""
    text = utf8(content, form.encoding)
    start, delimiter = declared(text)
    records = Records(text, delimiter or form.delimiter, start=start, before=1 if start else 0)
    return sum(1 for _ in itertools.takewhile(lambda record: record[0] < line, records))


def declared(text: bytes) -> tuple[int, str]:
    """Where the line after a declared delimiter begins, and the delimiter; 0 and "" if none is."""
    found = _DECLARED.match(text)
    return (found.end(), found[1].decode()) if found else (0, "")


def rows_below(text: bytes, lines: int, form: FileForm) -> Iterator[Block]:
    """The rows that begin after so many lines.

    Parameters
    ----------
    text
        UTF-8, as `utf8` gives it.
    """
    start = past_lines(text, lines)
    rest = np.frombuffer(text, np.uint8)[start:]
    found = layout(rest, form.delimiter) if rest.size > _FEW else None
    if found is None:
        yield from one_by_one(text, lines, form)
    else:
        yield from at_once(text, lines, form, found)


def one_by_one(text: bytes, lines: int, form: FileForm) -> Iterator[Block]:
    """The rows after so many lines, by a strict reader: for every text, and slow."""
    records = Records(text, form.delimiter, start=past_lines(text, lines), before=lines)
    for rows in blocks(records):
        yield without_idle_rows(rows, form.comment)


def at_once(text: bytes, lines: int, form: FileForm, found: Layout) -> Iterator[Block]:
    """The same rows by a layout: the regular ones all together, the others one by one."""
    numbers = found.lines + lines + 1
    regular = found.regular
    if regular.any():
        part = _picked(text, found, regular)
        if b"\r" in text:
            # Of the line ends CR, LF and both, one kind is left: none of these lie within a cell.
            part = memoryview(bytes(part).replace(b"\r\n", b"\n").replace(b"\r", b"\n"))
        quote: str | Literal[False] = '"' if found.quoted else False
        columns = _split(part, int(found.cells[regular][0]), form.delimiter, quote)
        yield without_idle_rows(block(numbers[regular], columns), form.comment)
    odd = ~(regular | found.blank)
    if odd.any():
        records = Records(bytes(_picked(text, found, odd)), form.delimiter)
        rows = (row for _, row in records)
        for some in blocks(zip(numbers[odd].tolist(), rows, strict=True)):
            yield without_idle_rows(some, form.comment)


def _picked(text: bytes, found: Layout, which: NDArray[np.bool_]) -> memoryview:
    """The records marked, as one text; not copied if they are all that follows."""
    shift = len(text) - int(found.ends[-1])
    view = memoryview(text)
    if which.all():
        return view[shift:]
    edges = np.flatnonzero(np.diff(which.astype(np.int8), prepend=0, append=0)).reshape(-1, 2)
    begins, finishes = found.starts[edges[:, 0]] + shift, found.ends[edges[:, 1] - 1] + shift
    return memoryview(
        b"".join(view[a:b] for a, b in zip(begins.tolist(), finishes.tolist(), strict=True))
    )


def _split(
    text: memoryview, cells: int, delimiter: str, quote: str | Literal[False]
) -> list[pa.ChunkedArray]:
    """Columns of a text whose every line is a record of the same number of cells."""
    names = [str(place) for place in range(cells)]
    split = pa_csv.read_csv(
        pa.py_buffer(text),
        read_options=pa_csv.ReadOptions(column_names=names, block_size=_PARSED_AT_ONCE),
        parse_options=pa_csv.ParseOptions(
            delimiter=delimiter, quote_char=quote, ignore_empty_lines=False
        ),
        convert_options=pa_csv.ConvertOptions(
            column_types=dict.fromkeys(names, TEXT), strings_can_be_null=False
        ),
    )
    return list(split.columns)
