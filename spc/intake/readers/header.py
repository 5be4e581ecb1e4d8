"""The header of a table: which rows it has, and one name a column."""

import itertools
from collections.abc import Iterator, Sequence

from spc.intake.names import composed
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import limits

Rows = Iterator[tuple[int, list[str]]]


def head(rows: Rows, form: FileForm) -> tuple[str, ...]:
    """One name a column; `rows` is left standing at the first row below the header.

    Raises
    ------
    UnreadableFile
        If the file ends before.
    """
    below_preamble = itertools.islice(rows, form.skip_rows, None)
    cells = ([cell.strip() for cell in row] for _, row in below_preamble)
    told = (row for row in cells if any(row) and not _is_comment(row[0], form))
    first = list(itertools.islice(told, form.header_rows + form.unit_row))
    if len(first) < form.header_rows + form.unit_row:
        raise limits.unreadable("it has no header.", "Ask its source to send it again.")
    return names(first[: form.header_rows], first[form.header_rows :])


def names(rows: Sequence[list[str]], units: Sequence[list[str]] = ()) -> tuple[str, ...]:
    """One name a column, all different.

    Parameters
    ----------
    rows
        One row, or an upper one that groups the columns and a lower one.
    units
        The row of units below them, if there is one; written ``"Heat [SHU]"``.

    Raises
    ------
    UnreadableFile
        If there are too many columns.
    """
    width = max(map(len, [*rows, *units]))
    parts = [[*row, *[""] * (width - len(row))] for row in (*rows, *units)]
    found = _grouped(parts[0], parts[1]) if len(rows) > 1 else parts[0]
    for row in parts[len(rows) :]:
        found = [_with_unit(name, unit) for name, unit in zip(found, row, strict=True)]
    while found and not found[-1]:
        found.pop()
    limits.refuse_shape(1, len(found))
    return unique(found)


def unique(found: Sequence[str]) -> tuple[str, ...]:
    """The names in their order and composed form; one that repeats gets a number."""
    given: dict[str, None] = {}
    numbers: dict[str, int] = {}
    for name in map(composed, found):
        candidate = name
        while candidate in given:
            # Goes on where the last of the same name left off: many may be empty.
            numbers[name] = numbers.get(name, 1) + 1
            candidate = f"{name} ({numbers[name]})"
        given[candidate] = None
    return tuple(given)


def _grouped(upper: list[str], lower: list[str]) -> list[str]:
    """A merged cell carries its text in its first column only, and over one row or two."""
    found, group = [], ""
    for above, below in zip(upper, lower, strict=True):
        group = above or group
        if not below:
            # Merged downwards: the text is the column's own, and no group of those beside it.
            found.append(above)
            group = "" if above else group
        else:
            found.append(f"{group} | {below}" if group else below)
    return found


def _with_unit(name: str, unit: str) -> str:
    bare = unit[1:-1].strip() if unit[:1] + unit[-1:] in ("[]", "()") else unit
    return f"{name} [{bare}]".strip() if bare else name


def _is_comment(first: str, form: FileForm) -> bool:
    return bool(form.comment) and first.startswith(form.comment)
