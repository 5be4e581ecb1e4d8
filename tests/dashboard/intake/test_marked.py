"""What a workbook hides, strikes through or merges is shown before a profile is made for it."""

import io

import openpyxl  # type: ignore[import-untyped]
from streamlit.testing.v1 import AppTest

from dashboard.intake.words import marked
from spc.intake.marks import Marks
from spc.workbooks import Area
from tests.dashboard.screen import words

HEADERS = ("Lot", "Bag", "Moisture %", "")


def test_what_is_marked_is_told_by_row_and_column():
    marks = Marks(
        hidden_rows=frozenset(range(3, 11)),
        hidden_columns=frozenset([2, 9]),
        struck=frozenset([(4, 2)]),
        errors=frozenset([(5, 1)]),
        unlike=frozenset([(6, 3)]),
        merged=(Area(top=2, left=0, bottom=3, right=0),),
    )

    assert marked.hidden(marks, HEADERS) == (
        "Hidden: rows 3, 4, 5, 6, 7 and 3 more and column Moisture %."
    )
    assert marked.struck(marks, HEADERS) == "Struck through: Moisture % in row 4."
    assert marked.merged(marks, HEADERS) == "Merged with others: Lot in row 2."
    assert marked.odd(marks, HEADERS) == (
        "In error, or shown otherwise than stored: Bag in row 5, column 4 in row 6."
    )
    assert marked.hidden(Marks(hidden_sheet=True), HEADERS) == "The whole sheet is hidden."
    assert marked.hidden(Marks(), HEADERS) == marked.odd(Marks(), HEADERS) == ""


def test_a_person_is_asked_whether_hidden_rows_count():
    def part(content: bytes):
        # The function is run as a script of its own.
        import streamlit as st  # noqa: PLC0415

        from dashboard.intake.marked import counting  # noqa: PLC0415
        from spc.intake import read  # noqa: PLC0415
        from spc.intake.profiles.profile import FileForm  # noqa: PLC0415

        form = FileForm(kind="workbook")
        st.write(f"counts: {counting(read(content, form), form, key='book').read_hidden}")

    book = openpyxl.Workbook()
    book.active.append(["Lot", "Moisture %"])
    book.active.append(["L-1", 9.8])
    book.active.row_dimensions[2].hidden = True
    out = io.BytesIO()
    book.save(out)

    app = AppTest.from_function(part, args=(out.getvalue(),), default_timeout=60).run()

    assert "Hidden: row 2." in words(app)
    assert "counts: False" in words(app)
    app.checkbox[0].check().run()
    assert "counts: True" in words(app)
    assert len(app.checkbox) == 1
