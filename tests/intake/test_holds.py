import json

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.intake.checks.holds import Holds, originals
from spc.intake.readers import SURPLUS

CELL = st.text('ab"\\ µ{},:\n', max_size=3)


def table(rows):
    return pd.DataFrame(
        rows,
        columns=["Lot", 'a "name"', SURPLUS],
        index=pd.Index(range(2, 2 + len(rows)), dtype="int64", name="source_row"),
        dtype="str",
    )


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(CELL, CELL, CELL), max_size=6), st.sampled_from([1, 3]), st.data())
def test_the_original_of_a_row_is_its_cells_as_json(rows, times, data):
    cells = table(rows * times)
    wanted = sorted(data.draw(st.sets(st.sampled_from(list(cells.index))))) if rows else []

    found = originals(cells, pd.Index(wanted, dtype="int64"))

    assert found.index.tolist() == wanted
    for row, text in found.items():
        lot, name, surplus = cells.loc[row]
        said = {"Lot": lot, 'a "name"': name} | ({"surplus": surplus} if surplus else {})
        assert text == json.dumps(said, ensure_ascii=False)


def test_the_first_reason_found_stands_and_each_case_is_worded_once():
    cells = table([("x", "", ""), ("y", "", ""), ("x", "", ""), ("z", "", "")])
    holds, asked = Holds(cells), []

    def worded(text):
        asked.append(text)
        return f"{text} is wrong."

    holds.add(cells["Lot"] == "z", "bad-lot", reason="It is z.", remedy="Mend it.")
    holds.add(cells["Lot"] != "y", "odd", about=cells["Lot"], reason=worded, remedy="Ask.")

    held = holds.frame(cells["Lot"])
    assert held.index.tolist() == holds.rows.tolist() == [2, 4, 5]
    assert held["reason"].tolist() == ["x is wrong.", "x is wrong.", "It is z."]
    assert held["code"].tolist() == ["odd", "odd", "bad-lot"]
    assert asked == ["x"]


@pytest.mark.parametrize("rows", [[], [("x", "", "")]])
def test_where_nothing_is_held_there_is_no_line(rows):
    cells = table(rows)

    held = Holds(cells).frame(cells["Lot"])

    assert held.empty
    assert held.columns.tolist() == ["code", "reason", "remedy", "lot", "original"]
