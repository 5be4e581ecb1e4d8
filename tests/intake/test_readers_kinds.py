"""The kind of a file is told by its bytes."""

import io
import zipfile

import openpyxl  # type: ignore[import-untyped]
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from spc.errors import UnreadableFile
from spc.intake.readers import kind_of
from spc.workbooks.packing import OLD


def archive(*names: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as new:
        for name in names:
            new.writestr(name, "x")
    return out.getvalue()


def xlsx() -> bytes:
    out = io.BytesIO()
    openpyxl.Workbook().save(out)
    return out.getvalue()


def parquet() -> bytes:
    out = io.BytesIO()
    pq.write_table(pa.table({"lot": ["L-1"]}), out)
    return out.getvalue()


@pytest.mark.parametrize(
    ("content", "kind"),
    [
        (b"Lot,Reading\nL-1,5\n", "delimited"),
        (b"", "delimited"),
        (b"[Lot];[Reading]\nL-1;5\n", "delimited"),
        (b"{Lot};5\n", "delimited"),
        (b"PKZ,5\n", "delimited"),
        ("Lot;Reading\n".encode("utf-16"), "delimited"),
        (b'[{"lot": 1}]', "json"),
        (b' \n[\n  {"lot": 1}]', "json"),
        (b"\xef\xbb\xbf[ ]", "json"),
        ('[{"lot": "µ"}]'.encode("utf-16"), "json"),
        (b'{"rows": [{"lot": 1}]}', "json"),
        (b'{\n "rows": [{"lot": 1}]\n}\n', "json"),
        (b'{"lot": 1}\n', "json"),
        (b'{"lot": 1}\n{"lot": 2}\n', "json lines"),
        (b'{"lot": 1}\r\n\r\n{"lot": 2', "json lines"),
        (xlsx(), "workbook"),
        (archive("content.xml", "mimetype"), "workbook"),
        (archive("xl/workbook.bin"), "workbook"),
        (OLD, "workbook"),
        (parquet(), "parquet"),
    ],
)
def test_the_kind_is_told_by_the_bytes_whatever_the_name_says(content, kind):
    assert kind_of("results.csv", content) == kind


def test_one_line_of_json_is_told_from_one_object_by_the_name():
    assert kind_of("results.jsonl", b'{"lot": 1}\n') == "json lines"
    assert kind_of("results.NDJSON", b'{"lot": 1}') == "json lines"
    assert kind_of("results.jsonl", b'{"lot": ') == "json"


def test_a_first_line_of_json_longer_than_the_sample_is_one_object():
    assert kind_of("x", b'{"rows": [' + b"1," * 100_000 + b"1]}\n") == "json"


@pytest.mark.parametrize(
    ("content", "what", "remedy"),
    [
        (b"%PDF-1.7\n", "PDF", "CSV"),
        (b"\x89PNG\r\n", "picture", "CSV"),
        (b"\x1f\x8b\x08", "packed", "Unpack"),
        (b"\n<!DOCTYPE html><table>", "web page", ".xlsx"),
        (b"<HTML><table>", "web page", ".xlsx"),
        (b"\xef\xbb\xbf<?xml version='1.0'?>", "XML", ".xlsx"),
        (archive("results.csv"), "no workbook", "Unpack"),
    ],
)
def test_what_holds_no_table_is_named_with_what_to_ask_for(content, what, remedy):
    with pytest.raises(UnreadableFile) as caught:
        kind_of("results.xls", content)

    assert what in caught.value.what
    assert remedy in caught.value.remedy
