"""JSON and JSON lines to a table: an object a row, numbers in the digits they were written in."""

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any

from spc.intake.names import composed
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import limits
from spc.intake.readers.header import Rows
from spc.intake.readers.rows import blocks
from spc.intake.readers.table import Table, table
from spc.intake.readers.text import lines, utf8


class _Number(str):
    """A number in its own digits, told apart from a text of digits."""

    __slots__ = ()


def read(content: bytes, form: FileForm) -> Table:
    """Read a list of objects; the number of a row is its place in the list.

    Raises
    ------
    UnreadableFile
        If the text is no JSON, or has no list of objects where the profile says.
    """
    rows = enumerate(_rows_at(whole(content, form), form.rows_at), start=1)
    return _table((number, f"element {number}", value) for number, value in rows)


def read_lines(content: bytes, form: FileForm) -> Table:
    """Read JSON lines; the number of a row is that of its line.

    Raises
    ------
    UnreadableFile
        If a line is no JSON object.
    """
    decoder = _decoder(form)
    rows = enumerate(lines(utf8(content, form.encoding)), start=1)
    return _table(
        (number, f"line {number}", _decoded(line.strip(), decoder, before=number - 1))
        for number, line in rows
        if line.strip()
    )


def whole(content: bytes, form: FileForm) -> Any:
    """A JSON file in one piece: objects as tuples of pairs, lists as lists, numbers as texts.

    Raises
    ------
    UnreadableFile
        If it is too large, or damaged.
    """
    if len(content) > limits.LARGEST_JSON_MB * 1_000_000:
        raise limits.unreadable(
            f"a JSON list of more than {limits.LARGEST_JSON_MB} MB cannot be read.",
            "Ask its source for JSON lines, or split it.",
        )
    return _decoded(utf8(content, form.encoding).decode(), _decoder(form))


def _decoder(form: FileForm) -> json.JSONDecoder:
    def number(digits: str) -> _Number:
        # The point would be read as a thousands sign where that is one.
        return _Number(digits.replace(".", form.decimal))

    return json.JSONDecoder(
        # A dictionary would keep one of two equal names, and not say so.
        object_pairs_hook=tuple,
        parse_float=number,
        parse_int=_Number,
        parse_constant=_Number,
    )


def _decoded(text: str, decoder: json.JSONDecoder, *, before: int = 0) -> Any:
    try:
        return decoder.decode(text)
    except json.JSONDecodeError as problem:
        raise limits.unreadable(
            f"line {before + problem.lineno} is damaged: {problem.msg}.",
            "Ask for the file again; it may have been cut short.",
        ) from problem
    except RecursionError as problem:
        raise _too_deep("it") from problem


def _rows_at(value: Any, keys: Sequence[str]) -> list[Any]:
    for key in keys:
        found = [inner for name, inner in value if name == key] if _is_object(value) else []
        if len(found) != 1:
            raise limits.unreadable(
                f"the key {key!r} is there {len(found)} times on the way to its rows.",
                "Correct rows_at in the source profile.",
            )
        value = found[0]
    if not isinstance(value, list):
        keys_here = ", ".join(repr(name) for name, _ in value[:8]) if _is_object(value) else ""
        raise limits.unreadable(
            "there is no list of rows"
            + (f", but an object with the keys {keys_here}." if keys_here else " in it."),
            "Name the keys that lead to the rows as rows_at in the source profile.",
        )
    return value


def _table(rows: Iterable[tuple[int, str, Any]]) -> Table:
    places: dict[str, int] = {}
    found = list(blocks(_in_columns(rows, places)))
    if not places:
        raise limits.unreadable(
            "it has no rows with anything in them.", "Ask its source to send it again."
        )
    return table(tuple(places), found)


def _in_columns(rows: Iterable[tuple[int, str, Any]], places: dict[str, int]) -> Rows:
    """Rows as cells in the order of the names; `places` takes in every new name."""
    for count, (number, where, value) in enumerate(rows, start=1):
        if not _is_object(value):
            raise limits.unreadable(
                f"{where} is no object.", "Ask its source for one object a row."
            )
        row = _row(value, where)
        for name in row:
            places.setdefault(name, len(places))
        limits.refuse_shape(count, len(places))
        cells = [""] * len(places)
        for name, cell in row.items():
            cells[places[name]] = cell
        yield number, cells


def _row(value: Any, where: str) -> dict[str, str]:
    row: dict[str, str] = {}
    for name, cell in _flat(value, where, ()):
        if name in row:
            raise limits.unreadable(
                f"{where} names {name!r} twice.", "Ask its source to name each value once."
            )
        row[name] = cell
    return row


def _flat(value: Any, where: str, within: tuple[str, ...]) -> Iterator[tuple[str, str]]:
    """Every value of an object and of those within, by its names joined with dots."""
    if len(within) >= limits.DEEPEST:
        raise _too_deep(where)
    for key, inner in value:
        names = (*within, composed(key.strip()))
        # An empty object says nothing, and is a column nevertheless.
        if _is_object(inner) and inner:
            yield from _flat(inner, where, names)
        else:
            yield ".".join(names), _text(inner, where)


def _text(value: Any, where: str) -> str:
    if value is None or value == ():
        return ""
    if isinstance(value, str):
        return value
    # A list stays one cell: it holds its row where the profile expects a reading, and does no
    # harm elsewhere.
    return _as_json(value, where)


def _as_json(value: Any, where: str, depth: int = 0) -> str:
    """A decoded value as JSON again, with its numbers in their own digits."""
    if depth > limits.DEEPEST:
        raise _too_deep(where)
    if isinstance(value, list):
        return f"[{', '.join(_as_json(one, where, depth + 1) for one in value)}]"
    if isinstance(value, tuple):
        pairs = (f"{json.dumps(name)}: {_as_json(one, where, depth + 1)}" for name, one in value)
        return f"{{{', '.join(pairs)}}}"
    return value if isinstance(value, _Number) else json.dumps(value, ensure_ascii=False)


def _is_object(value: Any) -> bool:
    return isinstance(value, tuple)


def _too_deep(where: str) -> Exception:
    return limits.unreadable(
        f"{where} nests objects or lists more than {limits.DEEPEST} deep.",
        "Ask its source for one flat object a row.",
    )
