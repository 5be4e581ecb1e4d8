"""Cells of a workbook that a person would read otherwise, or not see, are never taken in silently.

A held row costs a minute; a wrong number released costs a recall.
"""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl.cell.rich_text import CellRichText, TextBlock  # type: ignore[import-untyped]
from openpyxl.cell.text import InlineFont  # type: ignore[import-untyped]
from openpyxl.styles import Font  # type: ignore[import-untyped]
from openpyxl.utils.datetime import CALENDAR_MAC_1904  # type: ignore[import-untyped]

from spc.intake import Batch, Known, catalogue, interpret, read
from spc.intake.profiles import profile
from spc.intake.profiles.profile import FileForm, SourceProfile
from spc.intake.readers.dialect import dialect
from tests.intake.workbook_files import changed, ods, ods_cell, record, stream, xls

MOISTURE = """
profile = "moisture book"
[file]
kind = "workbook"
date_format = "%d.%m.%Y"
{more}
[columns]
lot = "Lot"
sample = "Bag"
measured_at = "Measured"
[[measure]]
characteristic = "moisture"
method = "moisture balance"
reading = "Moisture %"
unit = "g/100 g"
"""
HEADER = ("Lot", "Bag", "Measured", "Moisture %", "Remark")
DAY = datetime(2026, 3, 4)  # noqa: DTZ001 - a workbook's dates have no zone


def reading(more: str = "") -> SourceProfile:
    return profile.parse(MOISTURE.format(more=more))


@pytest.fixture(scope="module")
def known(small_sources) -> Known:
    return Known(
        catalogue=catalogue.parse(small_sources["catalogue.toml"]),
        lots=["L-1", "L-2"],
        now=np.datetime64("2026-03-10T12:00:00"),
    )


def book(change: Callable[[Any], object] = lambda _: None, *more: tuple[object, ...]) -> bytes:
    """Two readings, and a sheet that was then changed by hand."""
    rows = more or (("L-1", "1", DAY, 9.8, None), ("L-2", "1", DAY, 10.4, None))
    return changed(change, HEADER, *rows)


def told(content: bytes, source: SourceProfile, known: Known) -> Batch:
    return interpret(read(content, source.form), source, known)


def held(batch: Batch) -> dict[int, str]:
    return dict(zip(batch.held.index, batch.held["code"], strict=True))


def stored(batch: Batch) -> dict[int, float]:
    return dict(zip(batch.results.index, batch.results["value_low"], strict=True))


def in_format(code: str, number: float) -> bytes:
    def change(sheet: Any) -> None:
        sheet["D2"].value = number
        sheet["D2"].number_format = code

    return book(change)


def test_a_sheet_without_marks_is_stored(known):
    batch = told(book(), reading(), known)

    assert held(batch) == {}
    assert stored(batch) == {2: 9.8, 3: 10.4}


@pytest.mark.parametrize(
    ("code", "number", "shown"),
    [
        ("0.0%", 0.082, "8.2%"),
        ('0.00" kSHU"', 41.25, "41.25 kSHU"),
        ('0.0,"k"', 9800.0, "9.8k"),
        ('"<"0.0', 0.6, "<0.6"),
        (";;;", 9.8, "9.8"),
        ("0.0;[Red]0.0", -9.8, "9.8"),
        ("yyyy-mm-dd", 9.8, "1900-01-09 19:12:00"),
    ],
)
def test_a_cell_shown_at_another_scale_is_its_shown_value_or_waits(known, code, number, shown):
    content = in_format(code, number)

    batch = told(content, reading(), known)

    assert read(content, reading().form).cells["Moisture %"].iloc[0] == shown
    assert number not in stored(batch).values()
    assert 2 in held(batch) or stored(batch)[2] == 8.2 or shown == "<0.6"


def test_rounding_is_no_other_scale_and_the_stored_digits_are_kept(known):
    assert stored(told(in_format("0.0", 9.8123), reading(), known))[2] == 9.8123


MARKED: list[tuple[str, Callable[[Any], object], dict[int, str]]] = [
    ("a row", lambda sheet: setattr(sheet.row_dimensions[3], "hidden", True), {3: "hidden-cells"}),
    (
        "a column",
        lambda sheet: setattr(sheet.column_dimensions["D"], "hidden", True),
        {2: "hidden-cells", 3: "hidden-cells"},
    ),
    ("a remark", lambda sheet: setattr(sheet.column_dimensions["E"], "hidden", True), {}),
    (
        "struck",
        lambda sheet: setattr(sheet["D2"], "font", Font(strike=True)),
        {2: "struck-through"},
    ),
    ("struck remark", lambda sheet: setattr(sheet["E2"], "font", Font(strike=True)), {}),
    ("an error", lambda sheet: setattr(sheet["B3"], "value", "#REF!"), {3: "error-in-cell"}),
    ("a formula", lambda sheet: setattr(sheet["B3"], "value", "=1+1"), {3: "error-in-cell"}),
    (
        "not shown",
        lambda sheet: setattr(sheet["D2"], "number_format", ";;;"),
        {2: "shown-otherwise"},
    ),
    ("merged down", lambda sheet: sheet.merge_cells("A2:A3"), {3: "merged-cells"}),
    ("merged across", lambda sheet: sheet.merge_cells("C2:D2"), {2: "merged-cells"}),
    ("merged remark", lambda sheet: sheet.merge_cells("E2:E3"), {}),
]


@pytest.mark.parametrize(("what", "change", "expected"), MARKED, ids=[one[0] for one in MARKED])
def test_a_row_with_a_mark_where_it_is_read_waits_and_the_others_are_stored(
    known, what, change, expected
):
    batch = told(book(change), reading(), known)

    assert held(batch) == expected, what
    assert set(stored(batch)) == {2, 3} - set(expected)


def test_a_figure_struck_out_of_a_cell_makes_it_wait(known):
    def strike(sheet: Any) -> None:
        sheet["D2"] = CellRichText(TextBlock(InlineFont(strike=True), "1"), "9.8")

    assert held(told(book(strike), reading(), known)) == {2: "struck-through"}


def test_a_profile_says_that_hidden_and_struck_cells_count(known):
    def change(sheet: Any) -> None:
        sheet.row_dimensions[3].hidden = sheet.column_dimensions["A"].hidden = True
        sheet["D2"].font = Font(strike=True)

    source = reading("read_hidden = true\nread_struck = true")

    assert stored(told(book(change), source, known)) == {2: 9.8, 3: 10.4}


def test_a_profile_says_that_a_merged_value_is_that_of_every_row_beside_it(known):
    rows = (("L-1", "1", DAY, 9.8, None), (None, "2", DAY, 9.9, None), ("L-2", "1", DAY, 9.7, None))

    def merge(sheet: Any) -> None:
        sheet.merge_cells("A2:A3")
        sheet.merge_cells("E2:E4")

    batch = told(book(merge, *rows), reading("fill_merged = true"), known)

    assert stored(batch) == {2: 9.8, 3: 9.9, 4: 9.7}
    assert batch.results["lot"].tolist() == ["L-1", "L-1", "L-2"]


def two_sheets() -> bytes:
    def hide(sheet: Any) -> None:
        new = sheet.parent.create_sheet("New")
        for row in sheet.iter_rows(values_only=True):
            new.append(row)
        sheet.title, sheet.sheet_state = "Old", "hidden"
        sheet["D2"] = 55.0

    return book(hide)


def test_a_hidden_sheet_is_not_read_unless_it_is_named_and_then_it_waits(known):
    named = reading('sheet = "Old"')

    assert stored(told(two_sheets(), reading(), known))[2] == 9.8
    assert held(told(two_sheets(), named, known)) == {2: "hidden-cells", 3: "hidden-cells"}


def test_a_hidden_sheet_is_offered_last_and_as_a_hidden_one():
    found = dialect("book.xlsx", two_sheets())

    assert found.form.sheet == "New"
    assert found.ambiguities[0].candidates == ("New", "Old")
    assert "Hidden in the workbook: Old." in found.ambiguities[0].why


def test_a_moment_is_the_same_however_it_is_counted_and_shown(known):
    def from_1904(sheet: Any) -> None:
        sheet.parent.epoch = CALENDAR_MAC_1904
        sheet["C2"].number_format, sheet["C3"].number_format = "d/m/yy", "mmm d, yyyy"

    results = told(book(from_1904), reading(), known).results

    assert results["measured_at"].tolist() == [DAY, DAY]


def test_a_date_of_which_the_day_is_not_shown_waits(known):
    def only_month(sheet: Any) -> None:
        sheet["C2"].number_format = "mmm yyyy"

    assert held(told(book(only_month), reading(), known)) == {2: "unreadable-date"}


def in_xls(more: bytes = b"", **about: Any) -> bytes:
    cells: dict[tuple[int, int], Any] = {(0, at): name for at, name in enumerate(HEADER)}
    cells |= {(1, 0): "L-1", (1, 1): "1", (1, 2): (46085.0, 1), (1, 3): (0.082, 2)}
    cells |= {(2, 0): "L-2", (2, 1): "1", (2, 2): (46085.0, 1), (2, 3): (10.4, 3)}
    styles = [("dd.mm.yyyy", False), ("0.0%", False), ("0.0", True)]
    return xls(stream(cells, more, styles=styles, **about))


def test_formats_and_marks_of_an_old_workbook_count_like_those_of_a_new_one():
    merged = record(0x00E5, b"\x01\0" + b"\x01\0\x02\0\x00\0\x00\0")
    hidden_row = record(0x0208, b"\x01\0\0\0\x05\0\xff\0\0\0\0\0\x20\x01\x0f\0")
    hidden_column = record(0x007D, b"\x04\0\x04\0\0\x0a\0\0\x01\0\0\0")

    table = read(in_xls(merged + hidden_row + hidden_column, visibility=1), reading().form)

    assert table.cells["Moisture %"].tolist() == ["8.2%", "10.4"]
    assert table.cells["Measured"].tolist() == ["2026-03-04"] * 2
    assert table.marks.struck == {(3, 3)}
    assert table.marks.hidden_rows == {2}
    assert table.marks.hidden_columns == {4}
    assert table.marks.hidden_sheet
    assert [(one.top, one.left, one.bottom) for one in table.marks.merged] == [(2, 0, 3)]


def test_days_of_an_old_workbook_are_counted_from_its_own_first_day():
    table = read(in_xls(from_1904=True), reading().form)

    assert table.cells["Measured"].tolist() == ["2030-03-05"] * 2


ODS_STYLES = """
<style:style style:name="hidden" style:family="table">
  <style:table-properties table:display="false"/></style:style>
<number:percentage-style style:name="N1">
  <number:number number:decimal-places="1" number:min-integer-digits="1"/>
  <number:text> %</number:text></number:percentage-style>
<number:number-style style:name="N2">
  <number:number number:decimal-places="2" number:display-factor="1000"/>
  <number:text> kSHU</number:text></number:number-style>
<number:date-style style:name="N3"><number:day number:style="long"/><number:text>.</number:text>
  <number:month number:style="long"/><number:text>.</number:text><number:year/></number:date-style>
<number:number-style style:name="N4"><number:text>n.d.</number:text>
  <style:map style:condition="value()&gt;0" style:apply-style-name="N2"/></number:number-style>
<style:style style:name="per cent" style:family="table-cell" style:data-style-name="N1"/>
<style:style style:name="thousands" style:family="table-cell" style:data-style-name="N2"/>
<style:style style:name="day" style:family="table-cell" style:data-style-name="N3"/>
<style:style style:name="found" style:family="table-cell" style:data-style-name="N4"/>
<style:style style:name="struck" style:family="table-cell" style:parent-style-name="thousands">
  <style:text-properties style:text-line-through-style="solid"/></style:style>
"""


def ods_line(*cells: str, more: str = "") -> str:
    return f"<table:table-row{more}>{''.join(cells)}</table:table-row>"


def test_formats_and_marks_of_an_open_workbook_count_like_those_of_any_other():
    day = '<table:table-cell table:style-name="day" office:value-type="date"'
    spanned = '<table:table-cell table:number-rows-spanned="2" office:value-type="string">'
    sheet = (
        '<table:table table:name="One" table:style-name="hidden">'
        '<table:table-column/><table:table-column table:visibility="collapse"/>'
        + ods_line(*map(ods_cell, ("a", "b", "c", "d")))
        + ods_line(
            ods_cell(0.082, style="per cent", kind="percentage"),
            ods_cell(41250.0, style="thousands"),
            f'{day} office:date-value="2026-03-04"/>',
            f"{spanned}<text:p>x</text:p></table:table-cell>",
        )
        + ods_line(
            ods_cell(0.0, style="found"),
            ods_cell(9500.0, style="struck"),
            f'{day} office:date-value="2026-03-04T10:30:00"/>',
            "<table:covered-table-cell/>",
            more=' table:visibility="filter"',
        )
        + "</table:table>"
    )

    table = read(ods(sheet, styles=ODS_STYLES), FileForm(kind="workbook"))

    assert table.cells.iloc[:, :4].to_numpy().tolist() == [
        ["8.2 %", "41.25 kSHU", "2026-03-04", "x"],
        ["n.d.", "9.5 kSHU", "2026-03-04 10:30:00", ""],
    ]
    assert table.marks.hidden_sheet
    assert table.marks.hidden_rows == {3}
    assert table.marks.hidden_columns == {1}
    assert table.marks.struck == {(3, 1)}
    assert [(one.top, one.left, one.bottom) for one in table.marks.merged] == [(2, 3, 3)]


NUMBER = st.integers(-(10**7), 10**7).map(lambda number: number / 1000)
# Each format of a spreadsheet, the same as a data style of ODS, and what it makes of a number.
FORMATS: dict[str, tuple[str, str, int]] = {
    "General": ("", "", 1),
    "0.0": ('<number:number number:decimal-places="1"/>', "number", 1),
    "0.00%": (
        '<number:number number:decimal-places="2"/><number:text>%</number:text>',
        "percentage",
        100,
    ),
    '0.0" mg/kg"': (
        '<number:number number:decimal-places="1"/><number:text> mg/kg</number:text>',
        "number",
        1,
    ),
}


@settings(max_examples=30, deadline=None)
@given(
    st.sampled_from(["xlsx", "ods", "xls"]),
    st.lists(st.tuples(NUMBER, st.sampled_from(list(FORMATS))), min_size=1, max_size=5),
)
def test_a_table_written_with_formats_reads_back_as_it_is_shown_or_waits(kind, written):
    content = {"xlsx": in_xlsx_formats, "ods": in_ods_formats, "xls": in_xls_formats}[kind](written)

    texts = read(content, FileForm(kind="workbook")).cells["x"].tolist()

    for text, (number, code) in zip(texts, written, strict=True):
        digits = text.removesuffix("%").removesuffix(" mg/kg")
        assert float(digits) == pytest.approx(number * FORMATS[code][2], rel=1e-12)
        assert text.endswith("%") == code.endswith("%")
        assert text.endswith("mg/kg") == ("mg/kg" in code)


Written = list[tuple[float, str]]


def in_xlsx_formats(written: Written) -> bytes:
    def change(sheet: Any) -> None:
        for row, (_, code) in enumerate(written, start=2):
            sheet.cell(row, 1).number_format = code

    return changed(change, ["x"], *([number] for number, _ in written))


def in_xls_formats(written: Written) -> bytes:
    codes = list(FORMATS)
    cells: dict[tuple[int, int], Any] = {(0, 0): "x"}
    cells |= {(at, 0): (x, codes.index(code) + 1) for at, (x, code) in enumerate(written, start=1)}
    return xls(stream(cells, styles=[(code, False) for code in codes]))


def in_ods_formats(written: Written) -> bytes:
    codes = list(FORMATS)
    styles = "".join(
        f'<number:{kind}-style style:name="N{at}">{inside}</number:{kind}-style>'
        f'<style:style style:name="s{at}" style:family="table-cell" style:data-style-name="N{at}"/>'
        for at, (inside, kind, _) in enumerate(FORMATS.values())
        if kind
    )
    rows = [ods_line(ods_cell("x"))]
    for number, code in written:
        kind = "percentage" if code.endswith("%") else "float"
        rows.append(ods_line(ods_cell(number, style=f"s{codes.index(code)}", kind=kind)))
    return ods("".join(rows), styles=styles)


def test_what_a_person_put_into_a_marked_cell_counts(known):
    source = reading()
    content = book(lambda sheet: setattr(sheet["D2"], "font", Font(strike=True)))
    table = read(content, source.form)

    seen = replace(table, marks=table.marks.once_seen([(2, 3)]))

    assert stored(interpret(seen, source, known)) == {2: 9.8, 3: 10.4}
