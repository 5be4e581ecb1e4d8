"""Workbooks (XLSX, XLS, ODS) to a table: what their cells show, and nothing that they could do."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace

from spc import workbooks
from spc.intake.marks import Marks, Place
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import limits
from spc.intake.readers.header import Rows, head
from spc.intake.readers.kinds import is_workbook
from spc.intake.readers.rows import blocks
from spc.intake.readers.table import Table, table, without_idle_rows
from spc.workbooks import Area, Cell, Sheet, Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class Sample:
    """The first rows of a sheet.

    Attributes
    ----------
    hidden
        Whether the sheet is.
    """

    name: str
    hidden: bool
    rows: Sequence[list[str]]


def read(content: bytes, form: FileForm) -> Table:
    """Read one sheet of a workbook: the one of the profile, or the first that is not hidden.

    Formulas are not evaluated and links not followed: a cell is the value that was stored in it, at
    the scale and with the words that its number format shows.

    Raises
    ------
    UnreadableFile
        If it is no workbook, is damaged or locked, has no such sheet, or is beyond the limits.
    """
    _refuse_others(content)
    sheet = workbooks.sheet(content, form.sheet)
    noted = _Noted()
    rows = _rows(sheet, noted, decimal=form.decimal)
    headers = head(rows, form)
    if form.fill_merged:
        rows = _filled(rows, sheet.merged, below=noted.last)
    found = table(headers, (without_idle_rows(some, form.comment) for some in blocks(rows)))
    return replace(found, marks=noted.marks(sheet))


def samples(content: bytes, *, most_rows: int, decimal: str) -> list[Sample]:
    """The first rows of every sheet, those that are hidden last.

    Raises
    ------
    UnreadableFile
        If it is no workbook, is damaged or locked, or is beyond the limits.
    """
    found = [
        Sample(
            name=sheet.name,
            hidden=sheet.hidden,
            rows=[row for _, row in _rows(sheet, _Noted(), decimal=decimal)],
        )
        for sheet in workbooks.sheets(content, most_rows=most_rows)
    ]
    return sorted(found, key=lambda sample: sample.hidden)


def _refuse_others(content: bytes) -> None:
    """Let nothing through the wall that is no workbook; most files are none."""
    if not is_workbook(content):
        raise limits.unreadable(
            "it is not a workbook.",
            "Open it in a spreadsheet program, save it as .xlsx and receive that.",
        )


@dataclass(slots=True)
class _Noted:
    """What is said of cells while their rows go by."""

    last: int = 0
    hidden: set[int] = field(default_factory=set)
    struck: set[Place] = field(default_factory=set)
    errors: set[Place] = field(default_factory=set)
    unlike: set[Place] = field(default_factory=set)

    def note(self, stretch: Stretch) -> None:
        self.hidden.update(stretch.hidden)
        self.struck.update(stretch.struck)
        self.errors.update(stretch.errors)
        self.unlike.update(stretch.unlike)

    def marks(self, sheet: Sheet) -> Marks:
        return Marks(
            hidden_sheet=sheet.hidden,
            hidden_rows=frozenset(self.hidden),
            hidden_columns=sheet.hidden_columns,
            struck=frozenset(self.struck),
            errors=frozenset(self.errors),
            unlike=frozenset(self.unlike),
            merged=sheet.merged,
        )


def _rows(sheet: Sheet, noted: _Noted, *, decimal: str) -> Rows:
    """Every row from the first to the last that holds something, blank ones too."""
    for stretch in sheet.stretches():
        noted.note(stretch)
        for number, cells in stretch.rows:
            yield from ((blank, []) for blank in range(noted.last + 1, number))
            noted.last = number
            yield number, [_text(cell, decimal) for cell in cells]


def _filled(rows: Rows, areas: Sequence[Area], *, below: int) -> Rows:
    """With the text of a cell that is merged downwards in every row that it spans."""
    waiting = sorted((one for one in areas if one.top > below), key=lambda one: -one.top)
    open_now: dict[int, tuple[int, str]] = {}
    for number, cells in rows:
        # A row that would say nothing else is blank.
        spanning = {column: text for column, (bottom, text) in open_now.items() if number <= bottom}
        yield number, _completed(cells, spanning) if any(cells) else cells
        while waiting and waiting[-1].top <= number:
            area = waiting.pop()
            if area.top == number and area.left < len(cells):
                open_now[area.left] = area.bottom, cells[area.left]


def _completed(cells: list[str], texts: Mapping[int, str]) -> list[str]:
    full = [*cells, *[""] * (max(texts, default=0) + 1 - len(cells))]
    return [text or texts.get(column, "") for column, text in enumerate(full)]


def _text(cell: Cell, decimal: str) -> str:
    """A cell as a person would have typed it, in the file's own decimal sign."""
    if isinstance(cell, str):
        return cell
    if isinstance(cell, (int, float)):
        whole = cell == int(cell) if abs(cell) < 1e15 else isinstance(cell, int)
        # The workbook's own point would be read as a thousands sign where that is one.
        return str(int(cell)) if whole else repr(cell).replace(".", decimal)
    before, digits, after = cell
    return before + digits.replace(".", decimal) + after
