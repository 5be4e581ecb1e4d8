"""Where a table begins: what stands above it, its header, and a row of units."""

from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median
from typing import Final

from spc import units
from spc.intake.readers.findings import About, Ambiguity, Evidence, Finding
from spc.intake.readers.signs import is_number

_COMMENTS: Final = ("#", "//")
# Units that no result is converted from, but that stand in such rows.
_MORE_UNITS: Final = frozenset(
    ("g", "mg", "µg", "kg", "mL", "ml", "L", "l", "µL", "°C", "nm", "s", "min", "h", "d", "g/mL")
)
_DASHES: Final = ("-", "–", "—")
# Texts of nothing else are dates or times.
_DATE_SIGNS: Final = frozenset("0123456789.:/-T Z+")
_SHOWN: Final = 3

Row = Sequence[str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """What surrounds the rows of a table, as `FileForm` has it."""

    skip_rows: int = 0
    header_rows: int = 1
    unit_row: bool = False
    comment: str = ""
    findings: tuple[Finding, ...] = ()


def frame(rows: Sequence[Row]) -> Frame:
    """The frame of a table.

    Parameters
    ----------
    rows
        Every row from the top of the file, blank ones too, without blanks around the cells.
    """
    comment = _comment(rows)
    places = [
        place
        for place, row in enumerate(rows)
        if any(row) and not (comment and row[0].startswith(comment))
    ]
    told = [rows[place] for place in places]
    upper, lower, doubts = _header(told)
    # Blank lines and comments above a header are passed over anyway.
    skip_rows = places[upper - 1] + 1 if upper else 0
    units_below = told[lower + 1] if lower + 1 < len(told) and is_unit_row(told[lower + 1]) else ()
    found = [
        _evidence(
            "comment", f"Lines that begin with {comment} are remarks.", comment and [comment]
        ),
        _evidence("preamble", f"{upper} rows stand above the header.", *told[:upper]),
        _evidence("header", "These rows name the columns.", *told[upper : lower + 1]),
        _evidence("units", "The row below the header holds units.", units_below),
    ]
    return Frame(
        skip_rows=skip_rows,
        header_rows=lower - upper + 1,
        unit_row=bool(units_below),
        comment=comment,
        findings=(*(one for one in found if one.examples), *doubts),
    )


def _comment(rows: Sequence[Row]) -> str:
    """The mark of lines that are no rows: they hold a remark where the others hold cells."""
    usual = _usual([len(_filled(row)) for row in rows if any(row)])
    for mark in _COMMENTS:
        marked = [row for row in rows if row and row[0].startswith(mark)]
        if marked and all(len(_filled(row)) < max(2, usual) for row in marked):
            return mark
    return ""


def _header(told: Sequence[Row]) -> tuple[int, int, tuple[Ambiguity, ...]]:
    """First and last row of the header among those that say something, and what is in doubt."""
    sizes = [len(_filled(row)) for row in told]
    usual = _usual(sizes[len(told) // 2 :])
    nearly_full = -(-3 * usual // 4)
    names = [_names_only(row) and not is_unit_row(row) for row in told]
    data = (
        place for place, row in enumerate(told) if sizes[place] >= nearly_full and not names[place]
    )
    named = [place for place in range(next(data, len(told))) if names[place]]
    # What stands above a header has fewer cells, and where all is text the header comes first.
    full = [place for place in named if sizes[place] >= nearly_full]
    if full:
        return _with_group_above(told, full[0])
    if named and 2 * max(sizes[place] for place in named) >= usual:
        return _with_group_above(told, max(named, key=lambda place: (sizes[place], -place)))
    doubt = Ambiguity(
        about="header",
        candidates=("1",),
        why="No row looks like a header: each holds numbers or dates.",
        examples=tuple(told[0][:_SHOWN]) if told else (),
    )
    return 0, 0, (doubt,)


def _with_group_above(told: Sequence[Row], place: int) -> tuple[int, int, tuple[Ambiguity, ...]]:
    above = told[place - 1] if place else ()
    if not (_names_only(above) and _has_gaps(above) and _is_fuller(told[place], above)):
        return place, place, ()
    if len(_filled(above)) > 1:
        return place - 1, place, ()
    doubt = Ambiguity(
        about="header",
        candidates=("1", "2"),
        why="The text above the header may be a title, or name a group of columns.",
        examples=tuple(cell for cell in above if cell),
    )
    return place, place, (doubt,)


def is_unit_row(row: Row) -> bool:
    """Whether a row says units and nothing else."""
    said = [cell for cell in row if cell and cell not in _DASHES]
    return bool(said) and all(_is_unit(cell) for cell in said)


def _is_unit(cell: str) -> bool:
    bare = cell[1:-1].strip() if cell[0] + cell[-1] in ("[]", "()") else cell
    return units.spelled(bare) in units.KNOWN or bare in _MORE_UNITS


def _names_only(row: Row) -> bool:
    said = [cell for cell in row if cell]
    return bool(said) and not any(is_number(cell) or _is_date(cell) for cell in said)


def _is_date(cell: str) -> bool:
    return cell[0].isdigit() and cell[-1:].isalnum() and set(cell) <= _DATE_SIGNS


def _filled(row: Row) -> list[int]:
    return [place for place, cell in enumerate(row) if cell]


def _has_gaps(row: Row) -> bool:
    return _filled(row) != list(range(len(_filled(row))))


def _is_fuller(row: Row, than: Row) -> bool:
    return len(_filled(row)) > len(_filled(than))


def _usual(counts: Sequence[int]) -> int:
    return int(median(counts)) if counts else 0


def _evidence(about: About, found: str, *rows: Row) -> Evidence:
    shown = (" | ".join(row) for row in rows[:_SHOWN] if row)
    return Evidence(about=about, found=found, examples=tuple(shown))
