"""Parquet to a table: every column as the text that a person would have typed."""

from collections.abc import Iterable, Iterator
from typing import Final

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
import pyarrow.parquet as pq

from spc.intake.profiles.profile import FileForm
from spc.intake.readers import limits
from spc.intake.readers.header import unique
from spc.intake.readers.table import TEXT, Block, Table, block, refuse_cells, table

MAGIC: Final = b"PAR1"
_SECONDS: Final = (
    (pa.types.is_timestamp, pa.timestamp("s")),
    (pa.types.is_time, pa.time32("s")),
)


def read(content: bytes, form: FileForm) -> Table:
    """Read a Parquet file; the number of a row is its place in the file.

    Raises
    ------
    UnreadableFile
        If it is damaged, holds something that is no text, number or time, or is beyond the limits.
    """
    try:
        schema = pq.ParquetFile(pa.BufferReader(content)).schema_arrow
        texts = list(_texts(schema))
        # One long text that stands in every row is kept once, until its size is known.
        file = pq.ParquetFile(pa.BufferReader(content), read_dictionary=texts)
        _refuse_beyond_limits(file.metadata)
        names = _flat(schema.empty_table()).column_names
        return table(unique([name.strip() for name in names]), _blocks(file, form))
    except (pa.ArrowException, OSError, UnicodeError) as problem:
        raise limits.unreadable(
            f"it is no Parquet file, or a damaged one ({problem}).",
            "Ask for the file again; it may have been cut short.",
        ) from problem


def _texts(fields: Iterable[pa.Field], within: str = "") -> Iterator[str]:
    """The paths of the columns that hold texts.

    Raises
    ------
    UnreadableFile
        If a column holds lists: how long they are cannot be known without unpacking them.
    """
    for field in fields:
        path = f"{within}{field.name}"
        if pa.types.is_struct(field.type):
            yield from _texts(field.type.fields, f"{path}.")
        elif pa.types.is_nested(field.type):
            raise _no_text(path, field.type)
        elif _is_text(field.type):
            yield path


def _is_text(kind: pa.DataType) -> bool:
    return any(
        is_one(kind)
        for is_one in (
            *(pa.types.is_string, pa.types.is_large_string, pa.types.is_binary),
            *(pa.types.is_large_binary, pa.types.is_dictionary),
        )
    )


def _refuse_beyond_limits(facts: pq.FileMetaData) -> None:
    # No more of the metadata is looked at than this: what is damaged in the rest is an error to
    # the reader, but the end of the process to who asks for it.
    limits.refuse_shape(facts.num_rows, facts.num_columns)
    if facts.num_row_groups > limits.MOST_ROW_GROUPS:
        raise limits.unreadable(
            f"it has {facts.num_row_groups:,} row groups, and more than"
            f" {limits.MOST_ROW_GROUPS:,} are not read.",
            "Ask its source to write more rows at a time.",
        )
    groups = range(facts.num_row_groups)
    limits.refuse_text(sum(facts.row_group(place).total_byte_size for place in groups))


def _blocks(file: pq.ParquetFile, form: FileForm) -> Iterator[Block]:
    read, size = 0, 0
    for place in range(file.num_row_groups):
        group = _flat(file.read_row_group(place))
        size += sum(map(_size, group.columns))
        limits.refuse_text(size)
        numbers = np.arange(read + 1, read + 1 + group.num_rows)
        read += group.num_rows
        columns = [
            _text(column, name, form)
            for name, column in zip(group.column_names, group.columns, strict=True)
        ]
        for column in columns:
            # A damaged text would only be found when somebody looks at it.
            column.validate(full=True)
            refuse_cells(column, numbers)
        yield block(numbers, columns)


def _flat(group: pa.Table) -> pa.Table:
    """Structures taken apart, their names joined with dots."""
    for _ in range(limits.DEEPEST):
        if not any(map(pa.types.is_struct, group.schema.types)):
            return group
        group = group.flatten()
    raise limits.unreadable(
        f"it nests structures more than {limits.DEEPEST} deep.",
        "Ask its source for one flat row a reading.",
    )


def _size(column: pa.ChunkedArray) -> int:
    """Bytes of the texts of a column once each row has its own."""
    if not pa.types.is_dictionary(column.type):
        return int(column.nbytes)
    sizes = (
        pc.sum(pc.take(pc.binary_length(chunk.dictionary), chunk.indices)).as_py() or 0
        for chunk in column.chunks
    )
    return sum(sizes)


def _text(column: pa.ChunkedArray, name: str, form: FileForm) -> pa.ChunkedArray:
    kind = column.type
    if pa.types.is_dictionary(kind):
        return _text(column.cast(kind.value_type), name, form)
    if pa.types.is_timestamp(kind) and kind.tz:
        return _zoned(column, form.time_zone)
    if pa.types.is_duration(kind):
        raise _no_text(name, kind)
    try:
        text = pc.fill_null(_without_idle_fractions(column).cast(TEXT), "")
    except pa.ArrowNotImplementedError as problem:
        raise _no_text(name, kind) from problem
    if pa.types.is_floating(kind) or pa.types.is_decimal(kind):
        text = pc.replace_substring(text, ".", form.decimal)
    return text


def _zoned(column: pa.ChunkedArray, zone: str) -> pa.ChunkedArray:
    """Moments in the time of the source, with its distance from UTC: none comes twice in autumn."""
    utc = column.cast(pa.timestamp(column.type.unit, "UTC"))
    local = pc.local_timestamp(utc.cast(pa.timestamp(column.type.unit, zone)))
    distance = pc.subtract(local, pc.local_timestamp(utc)).cast(pa.duration("s"))
    offsets = distance.cast(pa.int64()).dictionary_encode().combine_chunks()
    written = pa.array([_offset(seconds) for seconds in offsets.dictionary.to_pylist()], TEXT)
    texts = _without_idle_fractions(local).cast(TEXT)
    days = pc.replace_substring_regex(texts, r"^([0-9]{4}-[0-9]{2}-[0-9]{2}) ", r"\1T")
    after = pc.take(written, offsets.indices)
    return pc.fill_null(pc.binary_join_element_wise(days, after, pa.scalar("", TEXT)), "")


def _offset(seconds: int) -> str:
    hours, minutes = divmod(abs(seconds) // 60, 60)
    return f"{'-' if seconds < 0 else '+'}{hours:02}:{minutes:02}"


def _without_idle_fractions(column: pa.ChunkedArray) -> pa.ChunkedArray:
    """Times to the second, unless one of them says more."""
    for is_one, seconds in _SECONDS:
        if is_one(column.type):
            try:
                return column.cast(seconds)
            except pa.ArrowInvalid:
                return column
    return column


def _no_text(name: str, kind: pa.DataType) -> Exception:
    return limits.unreadable(
        f"the column {name!r} holds {kind}, and a cell is one text, number or time.",
        "Ask its source to leave it out, or to write a row for each of its values.",
    )
