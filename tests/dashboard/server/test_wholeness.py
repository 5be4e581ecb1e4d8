"""What may be half a file is told from what is whole by how it ends."""

import io
import json

import openpyxl  # type: ignore[import-untyped]
import pandas as pd
import pytest

from dashboard.server.folder.wholeness import doubt


def workbook():
    book, content = openpyxl.Workbook(), io.BytesIO()
    book.active.append(["Lot", "Heat"])
    book.active.append(["L-1", 41_200])
    book.save(content)
    return content.getvalue()


def parquet():
    content = io.BytesIO()
    pd.DataFrame({"Lot": ["L-1"], "Heat": [41_200]}).to_parquet(content)
    return content.getvalue()


WHOLE = {
    "lines.csv": b"Lot,Heat\nL-1,10.55\n",
    "windows.csv": b"Lot,Heat\r\nL-1,10.55\r\n",
    "old.csv": b"Lot,Heat\rL-1,10.55\r",
    "wide.csv": "Lot,Heat\nL-1,10.55\n".encode("utf-16"),
    "book.xlsx": workbook(),
    "table.parquet": parquet(),
    "rows.json": json.dumps([{"Lot": "L-1", "Heat": 10.55}], indent=1).encode(),
    "rows.jsonl": b'{"Lot": "L-1"}\n{"Lot": "L-2"}\n',
    "letter.pdf": b"%PDF-1.7 no table, and refused as such",
}


@pytest.mark.parametrize("name", WHOLE)
def test_a_whole_file_is_not_doubted(name):
    assert doubt(name, WHOLE[name]) is None


@pytest.mark.parametrize("name", [name for name in WHOLE if not name.endswith("pdf")])
def test_a_file_cut_anywhere_in_its_last_line_or_part_is_doubted(name):
    content = WHOLE[name]

    assert all(doubt(name, content[:-size]) is not None for size in range(3, 9))


def test_only_of_a_last_line_a_person_is_asked():
    half = doubt("a.csv", b"Lot,Heat\nL-1,1")
    book = doubt("b.xlsx", workbook()[:-40])

    assert half is not None
    assert half.asks
    assert half.what == "It ends within a line: 'L-1,1' has no end, and may go on."
    assert book is not None
    assert not book.asks
    assert book.what.startswith("It does not open: ")


@pytest.mark.parametrize("content", [b"", b"\n", b"\0\0\0\0"])
def test_an_empty_file_is_one_that_was_only_begun(content):
    assert doubt("a.csv", content).what == "It is empty."  # type: ignore[union-attr]


def test_space_that_a_copying_program_set_aside_is_no_end():
    content = b"Lot,Heat\nL-1,10.55\n" + b"\0" * 4096

    assert doubt("a.csv", content).asks  # type: ignore[union-attr]
