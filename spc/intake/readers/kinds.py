"""What kind of file some bytes are: by the bytes, and by the name only where they leave a doubt."""

import io
import json
import re
import zipfile
from typing import Final, Literal

from spc.intake.readers import limits, parquet
from spc.intake.readers.encoding import encoding

Kind = Literal["delimited", "workbook", "json", "json lines", "parquet"]

_SAMPLE: Final = 1 << 16
_ZIP: Final = (b"PK\x03\x04", b"PK\x05\x06")
# How a compound file begins, in which old workbooks and locked new ones come.
_COMPOUND: Final = bytes.fromhex("D0CF11E0A1B11AE1")
# A part of every workbook in an archive; the names of parts are never packed.
_PARTS: Final = re.compile(rb"xl/workbook\.(?:xml|bin)|content\.xml", re.IGNORECASE)
_LINES: Final = (".jsonl", ".ndjson")
_AS_TABLE: Final = "Ask its source for the table itself, as CSV or as a workbook."
_UNPACK: Final = "Unpack it and receive the files in it."
_SAVE: Final = "Open it in a spreadsheet program, save it as .xlsx and receive that."
# What laboratories send besides tables: how it begins (in small letters), what it is, what to do.
_NO_TABLES: Final = (
    (b"%pdf", "a PDF, the picture of a table", _AS_TABLE),
    (b"\x89png", "a picture", _AS_TABLE),
    (b"\xff\xd8\xff", "a picture", _AS_TABLE),
    (b"{\\rtf", "a letter", _AS_TABLE),
    (b"\x1f\x8b", "a packed file", _UNPACK),
    (b"7z\xbc\xaf", "a packed file", _UNPACK),
    (b"<!doctype", "a web page, whatever its name says", _SAVE),
    (b"<html", "a web page, whatever its name says", _SAVE),
    (b"<?xml", "a document in XML", _SAVE),
)


def kind_of(name: str, content: bytes) -> Kind:
    """The kind of a file, as profiles name it.

    Parameters
    ----------
    name
        Of the file; only its ending is looked at, to tell one line of JSON from a list of one.

    Raises
    ------
    UnreadableFile
        If the bytes are of a kind that holds no table, with what to ask for instead.
    """
    refuse_no_table(content)
    if content.startswith(parquet.MAGIC):
        return "parquet"
    if is_workbook(content):
        return "workbook"
    if content.startswith(_ZIP):
        if zipfile.is_zipfile(io.BytesIO(content)):
            raise limits.unreadable("it is an archive, but no workbook.", _UNPACK)
        raise limits.unreadable("it is not a workbook, or a damaged one.", _SAVE)
    return _kind_of_text(name, content[:_SAMPLE])


def is_workbook(content: bytes) -> bool:
    """Whether the bytes are those of a workbook, however broken or locked."""
    if content.startswith(_ZIP):
        return _PARTS.search(content) is not None
    return content.startswith(_COMPOUND)


def refuse_no_table(content: bytes) -> None:
    """Refuse what laboratories send besides tables, whatever its name says.

    Raises
    ------
    UnreadableFile
        With what it is, and what to ask for instead.
    """
    start = content[:64].removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    for magic, what, remedy in _NO_TABLES:
        if start.startswith(magic):
            raise limits.unreadable(f"it is {what}.", remedy)


def _kind_of_text(name: str, sample: bytes) -> Kind:
    text = sample.decode(encoding(sample).name, errors="replace").lstrip("\ufeff \t\r\n")
    opening = "".join(text[:1000].split())[:2]
    if opening in ("[{", "[]"):
        return "json"
    if opening not in ('{"', "{}"):
        return "delimited"
    first, _, rest = text.partition("\n")
    is_named = name.lower().endswith(_LINES)
    return "json lines" if _is_json(first) and (rest.strip() or is_named) else "json"


def _is_json(line: str) -> bool:
    try:
        json.loads(line)
    except (ValueError, RecursionError):
        return False
    return True
