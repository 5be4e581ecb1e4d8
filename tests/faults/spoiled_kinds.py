"""The kinds of file that rows are written as, and bytes that are spoiled afterwards."""

import csv
import decimal
import io
import json
import random
import zipfile
from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any, Final

import openpyxl  # type: ignore[import-untyped]
import pyarrow as pa
import pyarrow.parquet as pq

Row = list[str]

ODD: Final = (
    *("", "n.d.", "-3", "0", "1e999", "1e300", "1e-320", "1e308", "40.000", "41,500", "<0", "+"),
    *(">0", "≤ 4", "5\n6", "=1+1", "null", "9" * 60, "٣", "2025.5", "1e12", "L-9", "l-1", "<"),
    *("now", "2026-02-30", "9999-12-31 23:59:59", "0001-01-01", "maybe", "furlong", "%", "NaT"),
    *("12\N{NARROW NO-BREAK SPACE}345", "~5000", "5000 ± 300", "5000*", "1,2E4", "46085", "24:00"),
    *("1E+05", "L-1\N{ZERO WIDTH SPACE}", "\N{FULLWIDTH LATIN CAPITAL LETTER L}-1", "\\", '"', "|"),
    *("2026-03-29 02:30:00", "2026-03-04T10:00:00Z", "2026-03-04T10:00:00+02:00", "[1, 2]", "{}"),
    *("0026-03-04 10:00:00", "1899-12-30", "26.10.2025 02:30:00", "1000", "41000000", "water"),
    *("\N{NO-BREAK SPACE}", "\ufeff", "\x1c", "\x85", "\N{COLLISION SYMBOL}", "x" * 5000, "True"),
    *(
        "4294967296",
        "-0",
        "0x10",
        "1_000",
        "½",
        "\N{FULLWIDTH DIGIT ONE}2",
        "'5",
        "a;b",
        "a,b",
        "a\tb",
        "#",
        "#5",
    ),
)


def _delimited(
    chance: random.Random, headers: Row, rows: list[Row], form: dict[str, Any]
) -> tuple[bytes, int]:
    delimiter, comment = form.get("delimiter", ","), form.get("comment", "")
    out = io.StringIO(newline="")
    writer = csv.writer(
        out,
        delimiter=delimiter,
        lineterminator=chance.choice(("\n", "\r\n")),
        quoting=chance.choice((csv.QUOTE_MINIMAL, csv.QUOTE_ALL)),
    )
    written = [_ragged(chance, row) for row in rows]
    if chance.random() < 0.2:
        written = [each for row in written for each in _between(chance, row, headers)]
    writer.writerows([headers, *written])
    text = out.getvalue()
    encoding = form.get("encoding", "utf-8")
    content = text.encode(encoding, errors="replace")
    if encoding == "cp1252":
        written = [[_as_cp1252(cell) for cell in row] for row in written]
    return content, sum(_says_something(row, comment) for row in written)


def _as_cp1252(cell: str) -> str:
    return cell.encode("cp1252", errors="replace").decode("cp1252")


def _ragged(chance: random.Random, row: Row) -> Row:
    way = chance.randrange(40)
    if way == 0:
        return [*row, chance.choice(ODD)]
    return row[: chance.randrange(len(row)) + 1] if way == 1 else row


def _between(chance: random.Random, row: Row, headers: Row) -> list[Row]:
    """A row among blank ones, remarks, totals and the header again."""
    more: tuple[Row, ...] = (
        [],
        ["# a remark"],
        headers,
        ["Total", "", "", "12"],
        ["", ""],
        ["end of report"],
    )
    return [row, chance.choice(more)] if chance.random() < 0.2 else [row]


def _says_something(row: Row, comment: str) -> bool:
    """As a person would say it: blank lines and remarks are none."""
    bare = [cell.strip() for cell in row]
    return any(bare) and not (comment and bare[0].startswith(comment))


def _workbook(
    chance: random.Random, headers: Row, rows: list[Row], form: dict[str, Any]
) -> tuple[bytes, int]:
    book = openpyxl.Workbook(write_only=True)
    sheet = book.create_sheet("Results")
    comment = form.get("comment", "")
    clean = [[_legal(cell) for cell in row] for row in rows]
    sheet.append(headers)
    for row in clean:
        sheet.append([_typed(chance, cell, form) for cell in row])
    book.create_sheet("Notes").append(["not looked at"])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue(), sum(_says_something(row, comment) for row in clean)


def _legal(cell: str) -> str:
    """Without the signs that no markup can carry."""
    return "".join(sign for sign in cell if sign >= " " or sign in "\n\t")


def _typed(chance: random.Random, cell: str, form: dict[str, Any]) -> object:
    if chance.random() < 0.5:
        return cell
    for kind in (float, lambda text: _moment(text, form)):
        try:
            found = kind(cell)
        except ValueError:
            continue
        return cell if isinstance(found, float) and abs(found) > 1e15 else _plain_moment(found)
    return cell


def _moment(text: str, form: dict[str, Any]) -> datetime:
    return datetime.strptime(text, form.get("date_format", "%Y-%m-%d %H:%M:%S"))  # noqa: DTZ007


def _plain_moment(found: Any) -> object:
    return found.replace(tzinfo=None) if isinstance(found, datetime) else found


def _json(
    chance: random.Random, headers: Row, rows: list[Row], form: dict[str, Any]
) -> tuple[bytes, int]:
    objects = [_object(chance, headers, row) for row in rows]
    return _encoded(json.dumps(objects, ensure_ascii=False), form), len(rows)


def _json_lines(
    chance: random.Random, headers: Row, rows: list[Row], form: dict[str, Any]
) -> tuple[bytes, int]:
    lines = [json.dumps(_object(chance, headers, row)) for row in rows]
    return _encoded("\n".join(lines), form), len(rows)


def _encoded(text: str, form: dict[str, Any]) -> bytes:
    return text.encode(form.get("encoding", "utf-8"), errors="replace")


def _object(chance: random.Random, headers: Row, row: Row) -> dict[str, object]:
    """A row as an object, in which a value may be a number, a list, nothing or a truth."""
    told = dict(zip(headers, map(_value, row), strict=True))
    if chance.random() < 0.1:
        told[chance.choice(headers)] = chance.choice((None, [1, 2], True, {}, 1.5, -0.0, "null"))
    return told


def _value(cell: str) -> object:
    digits = cell.isascii() and cell[:1].isdigit() and cell.replace(".", "", 1).isdigit()
    return float(cell) if digits and len(cell) < 15 else cell


def _parquet(
    chance: random.Random, headers: Row, rows: list[Row], form: dict[str, Any]
) -> tuple[bytes, int]:
    columns = [[row[place] for row in rows] for place in range(len(headers))]
    arrays = [_array(chance, column, form) for column in columns]
    out = io.BytesIO()
    pq.write_table(
        pa.table(arrays, names=headers), out, row_group_size=chance.choice((1, 7, 1_000_000))
    )
    return out.getvalue(), len(rows)


def _array(chance: random.Random, cells: Row, form: dict[str, Any]) -> pa.Array:
    """A column as texts, or typed where all of it can be."""
    way = chance.randrange(4)
    if way == 0:
        return pa.array(cells, pa.string()).dictionary_encode()
    for typed in (_moments, _decimals) if way < 3 else ():
        try:
            return typed(chance, cells, form)
        except (ValueError, decimal.InvalidOperation, pa.ArrowInvalid):
            continue
    return pa.array(cells, pa.string())


def _moments(chance: random.Random, cells: Row, form: dict[str, Any]) -> pa.Array:
    moments = [_moment(cell, form) if cell else None for cell in cells]
    zone = (
        "UTC"
        if "%z" in form.get("date_format", "")
        else chance.choice((None, "UTC", "Europe/Berlin"))
    )
    return pa.array(moments, pa.timestamp(chance.choice(("s", "ms", "us")), zone))


def _decimals(chance: random.Random, cells: Row, _form: dict[str, Any]) -> pa.Array:
    if chance.random() < 0.5:
        return pa.array([float(cell) if cell else None for cell in cells])
    exact = [decimal.Decimal(cell) if cell else None for cell in cells]
    return pa.array(exact, pa.decimal128(20, 6))


WRITERS: Final[
    dict[str, Callable[[random.Random, Row, list[Row], dict[str, Any]], tuple[bytes, int]]]
] = {
    "delimited": _delimited,
    "workbook": _workbook,
    "json": _json,
    "json lines": _json_lines,
    "parquet": _parquet,
}


def with_spoiled_bytes(chance: random.Random, content: bytes) -> bytes:
    """Bytes changed, lost, doubled or cut off; in a workbook, those of one of its parts."""
    if not content.startswith(b"PK") or chance.random() < 0.2:
        return _spoiled_bytes(chance, content)
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(content)) as old, zipfile.ZipFile(out, "w") as new:
        hit = chance.choice([*old.namelist(), *["xl/worksheets/sheet1.xml"] * 10])
        for name in old.namelist():
            part = old.read(name)
            new.writestr(name, _spoiled_bytes(chance, part) if name == hit else part)
    return out.getvalue()


def _spoiled_bytes(chance: random.Random, content: bytes) -> bytes:
    for _ in range(chance.choice((1, 1, 1, 2, 3, 8))):
        at = chance.randrange(len(content) + 1)
        until = min(len(content), at + chance.choice((1, 1, 2, 4, 30)))
        changed = chance.choice(_CHANGES)(chance, content[at:until])
        content = content[:at] + changed + content[until:]
    return content


_SIGNS: Final = (
    *(b",", b";", b"\n", b"\r", b'"', b"\0", b"0"),
    *(b"9", b"\xff", b"\xc3", b"{", b"]", b"<"),
)
_CHANGES: Final[Sequence[Callable[[random.Random, bytes], bytes]]] = (
    lambda chance, part: chance.randbytes(len(part)),
    lambda chance, part: chance.choice(_SIGNS) + part,
    lambda _, part: part + part,
    lambda _, part: bytes(byte ^ 1 for byte in part),
    lambda _, __: b"",
)
