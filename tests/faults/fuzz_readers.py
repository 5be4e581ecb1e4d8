"""Hours of bytes against the readers, led by what they reach; not a part of the test run.

Run it from the top folder, with `atheris` installed beside the test dependencies::

    python -m tests.faults.fuzz_readers -runs=1000000 -max_len=64 [folder to keep cases in]

The first byte of a case picks the kind of file, the second its layout. The others are bytes of a
file, or each picks a piece that means something to the reader. A case fails if anything but
`UnreadableFile` is raised, if the two ways of reading a text differ, or if a row is lost: the rows
of the table are counted against those of a slow reader.

`-seed=N` repeats a run; a file of bytes as the only argument repeats the case in it.
"""

import csv
import io
import json
import sys
from collections.abc import Callable
from dataclasses import replace

import atheris  # type: ignore[import-not-found, import-untyped, unused-ignore]

with atheris.instrument_imports(include=["spc.intake.readers"]):
    from spc.intake.readers import SURPLUS, delimited, kind_of, layout, read
    from spc.intake.readers.dialect import dialect
    from spc.intake.readers.header import head
    from spc.intake.readers.table import Table, table
    from spc.intake.readers.text import Records, past_lines

import numpy as np

from spc.errors import UnreadableFile
from spc.intake.profiles.profile import FileForm

TEXT_PIECES = (
    *("a", "L-1", "1", "5,2", "1.234", "µ", " ", "\t", "\xa0", "\x1c", "\ufeff", "#", "=", "sep="),
    *(",", ",", ";", "|", "\n", "\n", "\r", "\r\n", '"', '""', '"a"', '"a,b"', '"a\nb"', 'a"'),
    *(
        "Lot,Reading\n",
        "L-1,5\n",
        '"L",7\n',
        ",,\n",
        "Gerät",
        "SHU",
        "[g]",
        "\0",
        "é",
        "2026-03-02",
    ),
)
JSON_PIECES = (
    *("{", "}", "[", "]", ",", ":", '"a"', '"b"', '"a.b"', "1", "1.50", "-0", "1e3", "NaN", "null"),
    *("true", '""', '"\\u0000"', '"\\ud800"', " ", "\n", '{"a":1}', '{"a":{"b":2}}', "\ufeff", "x"),
)
DELIMITERS = (",", ";", "\t", " ", "|", "¦")
ENCODINGS = ("utf-8", "utf-8", "utf-16", "cp1252", "utf-16-le")


def pieces(data: bytes, known: tuple[str, ...]) -> str:
    return "".join(known[byte % len(known)] for byte in data)


def form_of(byte: int) -> FileForm:
    return FileForm(
        delimiter=DELIMITERS[byte % 6],
        comment="#" if byte & 8 else "",
        skip_rows=(byte >> 4) % 3,
        header_rows=1 + (byte >> 6) % 2,
        unit_row=byte >= 224,
    )


def rows_of_text(text: str, form: FileForm) -> None:
    """As many rows as a slow reader counts, and the same ones by the way for long texts."""
    found = read(text.encode(), form)
    rows = found.cells.index
    assert rows.is_unique
    assert rows.is_monotonic_increasing
    assert rows.size == slow_count(text, form), (rows.size, text)
    swift = read_as_long(text, form)
    if swift is not None:
        assert shown(swift) == shown(found), text


def read_as_long(text: str, form: FileForm) -> Table | None:
    """The same text as if it were long; None if its layout is not seen at a glance."""
    content = text.encode().removeprefix(b"\xef\xbb\xbf")
    start, delimiter = delimited.declared(content)
    form = replace(form, delimiter=delimiter or form.delimiter)
    records = Records(content, form.delimiter, start=start, before=1 if start else 0)
    headers = head(records, form)
    below = np.frombuffer(content, np.uint8)[past_lines(content, records.line) :]
    whole = layout.layout(below, form.delimiter)
    if whole is None:
        return None
    return table(headers, delimited.at_once(content, records.line, form, whole))


def slow_count(text: str, form: FileForm) -> int:
    text = text.removeprefix("\ufeff")
    start, declared = delimited.declared(text.encode())
    text = text.encode()[start:].decode()
    delimiter = declared or form.delimiter
    records = list(csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True))
    told = [
        record
        for record in records[form.skip_rows :]
        if any(cell.strip() for cell in record)
        and not (form.comment and record[0].strip().startswith(form.comment))
    ]
    return len(told) - form.header_rows - form.unit_row


def shown(found: Table) -> list[object]:
    return [found.cells.index.tolist(), found.cells.to_numpy().tolist()]


def rows_of_json(text: str) -> None:
    found = read(text.encode(), FileForm(kind="json"))
    assert found.cells.index.size == len(json.loads(text.removeprefix("\ufeff")))


def rows_of_lines(text: str) -> None:
    found = read(text.encode(), FileForm(kind="json lines"))
    lines = io.StringIO(text.removeprefix("\ufeff"), newline=None)
    assert found.cells.index.size == sum(line.strip() != "" for line in lines)


def proposal(content: bytes) -> None:
    """What is proposed can be read, or is refused for what the proposal could not see."""
    found = dialect("x", content)
    assert read(content, found.form).cells.columns[-1] == SURPLUS


KINDS: tuple[Callable[[int, bytes], object], ...] = (
    lambda byte, data: rows_of_text(pieces(data, TEXT_PIECES), form_of(byte)),
    lambda byte, data: rows_of_text(data.decode("latin-1"), form_of(byte)),
    lambda byte, data: read(data, FileForm(encoding=ENCODINGS[byte % 5], delimiter=";")),
    lambda _, data: rows_of_json(pieces(data, JSON_PIECES)),
    lambda _, data: rows_of_lines(pieces(data, JSON_PIECES)),
    lambda _, data: read(data, FileForm(kind="json")),
    lambda _, data: proposal(pieces(data, TEXT_PIECES).encode()),
    lambda _, data: proposal(pieces(data, JSON_PIECES).encode()),
    lambda _, data: proposal(data),
    lambda _, data: kind_of("x", data),
)


def case(data: bytes) -> None:
    """One case; anything but a refusal is a failure."""
    if len(data) < 2:
        return
    try:
        KINDS[data[0] % len(KINDS)](data[1], data[2:])
    except UnreadableFile as problem:
        if not (problem.what and problem.remedy):
            raise


def main() -> None:
    """Fuzz until told to stop."""
    atheris.Setup(sys.argv, case)
    atheris.Fuzz()


if __name__ == "__main__":
    main()
