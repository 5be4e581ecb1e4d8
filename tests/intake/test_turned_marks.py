"""What is hidden or struck in a table with its lots across stays so when the table is turned."""

from spc.intake.marks import NONE, Marks

# Header in row 4; three rows below it, of which one is missing.
LINES = (5, 6, 8)


def test_a_hidden_column_of_a_lot_is_that_lots_hidden_row():
    turned = Marks(hidden_columns=frozenset({1, 3})).turned(LINES, first=2)

    assert turned.hidden_rows == {2, 4}
    assert turned.hidden_columns == frozenset()


def test_a_hidden_row_of_a_measure_is_that_measures_hidden_column():
    turned = Marks(hidden_rows=frozenset({5, 8, 7})).turned(LINES, first=2)

    assert turned.hidden_columns == {1, 3}
    assert turned.hidden_rows == frozenset()


def test_a_struck_cell_and_an_error_go_where_their_value_goes():
    marks = Marks(struck=frozenset({(6, 2)}), errors=frozenset({(8, 1), (4, 1)}))

    turned = marks.turned(LINES, first=2)

    assert turned.struck == {(3, 2)}
    assert turned.errors == {(2, 3), (2, 0)}


def test_a_table_without_marks_has_none_when_it_is_turned():
    assert NONE.turned(LINES, first=2) == NONE
