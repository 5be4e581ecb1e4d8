"""Whatever bytes come, they are read or refused; both ways of reading a text are the same way.

`tests/faults/fuzz_readers.py` does the same for hours, led by what the bytes reach.
"""

import csv
import io
from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from spc.errors import UnreadableFile
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import SURPLUS, delimited, kind_of, layout, read, rows
from spc.intake.readers.dialect import dialect
from spc.intake.readers.table import Block, Table, table

# Pieces that mean something to a reader of delimited text, and a few that only look so.
PIECES = st.sampled_from(
    [
        *(",", ",", ",", ";", "\n", "\n", "\r\n", "\r", '"', '""', '"a"', '"a,b"', '"a\nb"'),
        *('"a\r\n"', 'a"b', "a", "L-1", " ", "\t", "#", "\ufeff", "\xa0", "µ", "\x1c", "5,2"),
        *("L-1,5\n", "L-2,6\n", '"L",7\n', ",,\n"),
    ]
)
TEXTS = st.lists(PIECES, max_size=30).map("".join)
FORMS = st.builds(
    FileForm,
    delimiter=st.sampled_from([",", ";", "\t", " ", "¦"]),
    comment=st.sampled_from(["", "#"]),
    skip_rows=st.integers(0, 2),
    header_rows=st.sampled_from([1, 2]),
    unit_row=st.booleans(),
)


def outcome(blocks: Iterator[Block], headers: tuple[str, ...]) -> Table | str:
    try:
        return table(headers, blocks)
    except UnreadableFile as problem:
        return str(problem)


@pytest.fixture(params=[1, 3, 1 << 19], ids=["byte", "few", "all"])
def stretch(request, monkeypatch):
    """Bytes or cells that are looked at together: results may not depend on where they end."""
    monkeypatch.setattr(layout, "_STRETCH", request.param)
    monkeypatch.setattr(rows, "_AT_ONCE", request.param)


@pytest.mark.usefixtures("stretch")
@settings(max_examples=120, deadline=None)
@given(TEXTS, FORMS)
@example('a\r\n"b\r\nc",d\n\ne"f\n', FileForm())
@example("a,b\n\ufeffc,d\ne,f\n", FileForm())
@example('\n"a"\r\nb\r\n\rc', FileForm())
def test_the_rows_of_a_text_are_the_same_all_at_once_and_one_by_one(text, form):
    content = text.encode()
    headers = ("Lot", "Reading")
    found = layout.layout(np.frombuffer(content, np.uint8), form.delimiter)

    exact = outcome(delimited.one_by_one(content, 0, form), headers)

    if found is None:
        return
    swift = outcome(delimited.at_once(content, 0, form, found), headers)
    assert isinstance(exact, Table)
    assert isinstance(swift, Table)
    assert swift.cells.index.tolist() == exact.cells.index.tolist()
    assert swift.cells.to_numpy().tolist() == exact.cells.to_numpy().tolist()
    assert (swift.cells.dtypes == exact.cells.dtypes).all()


@settings(max_examples=150, deadline=None)
@given(TEXTS, FORMS)
def test_a_text_is_read_or_refused_and_its_rows_are_those_that_say_something(text, form):
    try:
        found = read(text.encode(), form)
    except UnreadableFile:
        return

    assert found.cells.columns.tolist() == [*found.headers, SURPLUS]
    assert found.cells.index.is_monotonic_increasing
    assert found.cells.index.is_unique
    assert found.cells.index.size == _rows_that_say_something(text, form)


def _rows_that_say_something(text: str, form: FileForm) -> int:
    """The slow count: every record but those above the data, the blank ones and remarks."""
    text = text.removeprefix("\ufeff")
    records = list(csv.reader(io.StringIO(text, newline=""), delimiter=form.delimiter, strict=True))
    told = [
        record
        for record in records[form.skip_rows :]
        if any(cell.strip() for cell in record)
        and not (form.comment and record[0].strip().startswith(form.comment))
    ]
    return len(told) - form.header_rows - form.unit_row


CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0\r"), max_size=6)


@settings(max_examples=120, deadline=None)
@given(
    st.lists(st.lists(CELLS, min_size=3, max_size=3), min_size=1, max_size=8),
    st.sampled_from([",", ";", "\t", "|"]),
    st.sampled_from(["\n", "\r\n", "\r"]),
    st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]),
    st.sampled_from(["utf-8", "utf-16", "utf-8-sig"]),
)
def test_every_row_that_a_writer_wrote_is_there_whole(written, delimiter, end, quoting, encoding):
    out = io.StringIO(newline="")
    # The writer encloses a cell for the line end it writes itself, not for any other.
    quoting = quoting if "\n" in end else csv.QUOTE_ALL
    writer = csv.writer(out, delimiter=delimiter, lineterminator=end, quoting=quoting)
    writer.writerows([["a", "b", "c"], *written])
    content = out.getvalue().encode(encoding)
    form = FileForm(encoding=encoding.removesuffix("-sig"), delimiter=delimiter)

    cells = read(content, form).cells

    stripped = [[cell.strip() for cell in row] for row in written]
    assert cells[["a", "b", "c"]].to_numpy().tolist() == [row for row in stripped if any(row)]
    assert not cells[SURPLUS].any()


@settings(max_examples=200, deadline=None)
@given(
    st.one_of(
        st.binary(max_size=60),
        st.text(max_size=40).map(lambda text: text.encode("utf-8", "surrogatepass")),
        st.lists(st.sampled_from(['{"a":', "[", "]", "}", "1", ",", '"x"', "\n"]), max_size=20).map(
            lambda pieces: "".join(pieces).encode()
        ),
        st.tuples(
            st.sampled_from(
                [b"PK\x03\x04", b"PAR1", bytes.fromhex("D0CF11E0A1B11AE1"), b"{", b"["]
            ),
            st.binary(max_size=600),
        ).map(b"".join),
    ),
    st.sampled_from(["delimited", "workbook", "json", "json lines", "parquet"]),
    st.sampled_from(["utf-8", "utf-16", "cp1252"]),
)
def test_any_bytes_are_read_or_refused_as_any_kind(content, kind, encoding):
    for attempt in (
        lambda: read(content, FileForm(kind=kind, encoding=encoding)).cells[SURPLUS],
        lambda: kind_of("x", content),
        lambda: dialect("x", content).form,
    ):
        try:
            attempt()
        except UnreadableFile as problem:
            assert problem.what  # noqa: PT017 - most are refused, and that is as good
            assert problem.remedy  # noqa: PT017
