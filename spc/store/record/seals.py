"""Rows sealed under the entry of the audit chain that was made when they were written.

Every table that a person can read has a column ``entry``.  An entry tells, by table, how many rows
stand under it and the digest of them: the SHA-256 of the sorted SHA-256 of each row.  A row that
was changed, taken away, added or moved under another entry is found; and because rows are hashed
here, from plain selects, nothing that stands in the file has a say in it.

A row is hashed as the texts of its columns in their order, with a mark between them; a number or a
time as the bits that are stored, so that no rounding and no way of writing comes into it.
"""

import hashlib
import itertools
from collections.abc import Iterable, Iterator, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from spc.store.file import inventory
from spc.store.file.cursors import Cursor
from spc.store.file.migrations import steps

# Not sealed: the chain is sealed by itself, and the steps are compared with the package's; who is
# signed in, and how often somebody mistyped, changes without a trace.
OUTSIDE: Final = ("audit", "schema_step", "session", "sign_in_count")

# Rows in memory at one time.
_AT_ONCE: Final = 20_000

# Between two texts, in the place of a null, and before a sign of the three that a text holds.
_BETWEEN, _NULL, _ESCAPE = "\x1f", "\x00", "\x1b"
_ESCAPED: Final = ((_ESCAPE, "b"), (_BETWEEN, "f"), (_NULL, "0"))


class Seal(NamedTuple):
    """How many rows, and the digest of them."""

    rows: int
    digest: str


class Batch(NamedTuple):
    """Some rows of a table: the entry of each, and the SHA-256 of each, one after the other."""

    entries: NDArray[np.int64]
    digests: bytes


@lru_cache
def tables(step: int) -> Mapping[str, tuple[str, ...]]:
    """The columns of every table that is sealed at a step of the schema.

    Bytes are sealed by the digest that stands beside them.
    """
    return MappingProxyType(
        {
            table: tuple(name for name in named if not ("sha256" in named and name == "bytes"))
            for table, named in inventory.columns(step).items()
            if table not in OUTSIDE and "entry" in named
        }
    )


def sealed(cursor: Cursor, entry: int, *, first: int | None = None) -> dict[str, Seal]:
    """By table, the seal of what stands under an entry, or under the entries from a first one on.

    Tables of which nothing stands there are left out.
    """
    given = {"first": entry if first is None else first, "last": entry}
    under = "where entry between $first and $last"
    known = tables(steps()[-1].number)
    parts = [f"(select '{table}' from {table} {under} limit 1)" for table in known]  # noqa: S608
    touched = cursor.execute(" union all ".join(parts), given).fetchall()
    return {
        table: _seal(
            batch.digests for batch in _batches(cursor, f"{_listed(table, known)} {under}", given)
        )
        for (table,) in sorted(touched)
    }


def standing(cursor: Cursor, table: str, *, found_until: int, step: int) -> dict[int, Seal]:
    """By entry, the seal of what stands under it in a table, in one pass over the table.

    Parameters
    ----------
    found_until
        Rows under this entry and those before it were sealed together, as they were found.
    step
        Of the schema, which the store has reached.
    """
    digests: dict[int, bytearray] = {}
    for batch in _batches(cursor, _listed(table, tables(step))):
        entries = np.maximum(batch.entries, found_until)
        starts = np.flatnonzero(np.diff(entries, prepend=entries[0] - 1))
        for first, last in zip(starts, [*starts[1:], len(entries)], strict=True):
            part = batch.digests[32 * first : 32 * last]
            digests.setdefault(int(entries[first]), bytearray()).extend(part)
    return {entry: _seal([bytes(several)]) for entry, several in digests.items()}


def _seal(parts: Iterable[bytes]) -> Seal:
    each = np.frombuffer(b"".join(parts), dtype="S32")
    return Seal(rows=len(each), digest=hashlib.sha256(np.sort(each).tobytes()).hexdigest())


def _listed(table: str, known: Mapping[str, tuple[str, ...]]) -> str:
    # Table and column names are the package's own; nothing of a user's enters the text.
    named = ", ".join(f'"{name}"' for name in known[table])
    return f"select {named} from {table}"  # noqa: S608


def _batches(
    cursor: Cursor, query: str, given: Mapping[str, object] | None = None
) -> Iterator[Batch]:
    for batch in cursor.execute(query, given).to_arrow_reader(_AT_ONCE):
        if batch.num_rows:
            entries = batch.column("entry").to_numpy(zero_copy_only=False)
            yield Batch(entries=entries, digests=row_digests(batch))


def row_digests(batch: pa.RecordBatch) -> bytes:
    """The SHA-256 of each row, one after the other."""
    texts = [_text(column) for column in batch.columns]
    lines = _lines(texts)
    content, offsets = _content(lines)
    nulls = sum(column.null_count for column in batch.columns)
    marks = (len(texts) - 1) * len(lines) + nulls
    # A text with one of the three signs in it is rare; then all are searched for them.
    if np.count_nonzero(_among(content)) != marks:
        content, offsets = _content(_lines([_escaped(text) for text in texts]))
    view, sha256, bounds = content.data, hashlib.sha256, offsets.tolist()
    return b"".join(
        [sha256(view[first:last]).digest() for first, last in itertools.pairwise(bounds)]
    )


def _text(column: pa.Array) -> pa.Array:
    kind = column.type
    if pa.types.is_floating(kind) or pa.types.is_timestamp(kind):
        column = column.view(pa.int64())
    elif pa.types.is_date32(kind):
        column = column.view(pa.int32())
    elif pa.types.is_binary(kind):
        hashed = [
            None if one is None else hashlib.sha256(one).hexdigest() for one in column.to_pylist()
        ]
        column = pa.array(hashed, type=pa.string())
    return column.cast(pa.string())


def _lines(texts: list[pa.Array]) -> pa.Array:
    return pc.binary_join_element_wise(
        *texts, _BETWEEN, null_handling="replace", null_replacement=_NULL
    )


def _content(lines: pa.Array) -> tuple[NDArray[np.uint8], NDArray[np.int32]]:
    _, offsets, content = lines.buffers()
    told = np.frombuffer(offsets, dtype=np.int32)[lines.offset : lines.offset + len(lines) + 1]
    return np.frombuffer(content, dtype=np.uint8)[: told[-1]], told


def _among(content: NDArray[np.uint8]) -> NDArray[np.bool_]:
    between, null, escape = map(ord, (_BETWEEN, _NULL, _ESCAPE))
    return np.asarray((content == between) | (content == null) | (content == escape))


def _escaped(text: pa.Array) -> pa.Array:
    for sign, letter in _ESCAPED:
        text = pc.replace_substring(text, sign, _ESCAPE + letter)
    return text
