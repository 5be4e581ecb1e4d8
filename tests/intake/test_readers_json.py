"""JSON and JSON lines: an object a row, and numbers as they were written."""

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.errors import UnreadableFile
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import limits, read

LIST = FileForm(kind="json")
LINES = FileForm(kind="json lines")


def refused(text: str, form: FileForm = LIST) -> UnreadableFile:
    with pytest.raises(UnreadableFile) as caught:
        read(text.encode(), form)
    assert caught.value.remedy
    return caught.value


def test_numbers_keep_the_digits_they_were_written_in():
    text = '[{"a": 12.50, "b": 1e3, "c": -0, "d": 123456789012345678901234567890, "e": NaN}]'

    row = read(text.encode(), LIST).cells.iloc[0].tolist()

    assert row == ["12.50", "1e3", "-0", "123456789012345678901234567890", "NaN", ""]


def test_a_typed_number_keeps_its_size_where_the_point_parts_thousands():
    form = FileForm(kind="json", decimal=",", thousands=".")

    cells = read(b'[{"typed": 1.125, "text": "1.125"}]', form).cells

    assert cells.iloc[0].tolist() == ["1,125", "1.125", ""]


def test_truth_and_nothing_are_words_and_an_empty_cell():
    cells = read(b'[{"a": true, "b": false, "c": null, "d": ""}]', LIST).cells

    assert cells.iloc[0].tolist() == ["true", "false", "", "", ""]


def test_objects_within_an_object_are_named_with_dots():
    text = '[{"lot": "L-1", "heat": {"value": 5, "unit": {"name": "SHU"}, "none": {}}}]'

    table = read(text.encode(), LIST)

    assert table.headers == ("lot", "heat.value", "heat.unit.name", "heat.none")


def test_an_empty_object_says_nothing_in_a_column_that_is_there():
    table = read(b'[{"lot": {}, "heat": 5}]', LIST)

    assert table.headers == ("lot", "heat")
    assert table.cells.iloc[0].tolist() == ["", "5", ""]


def test_a_name_that_comes_late_is_a_column_and_empty_before():
    table = read(b'[{"lot": "L-1"}, {}, {"heat": 5, "lot": "L-3"}]', LIST)

    assert table.headers == ("lot", "heat")
    assert table.cells["heat"].to_dict() == {1: "", 2: "", 3: "5"}
    assert table.cells["lot"].to_dict() == {1: "L-1", 2: "", 3: "L-3"}


def test_a_list_within_a_row_stays_one_cell_that_is_no_reading():
    text = '[{"reading": [5.10, "<1", {"n": 2e0}, null], "tags": []}]'

    row = read(text.encode(), LIST).cells.iloc[0]

    assert row["reading"] == '[5.10, "<1", {"n": 2e0}, null]'
    assert row["tags"] == "[]"


def test_the_rows_lie_where_the_profile_says():
    text = '{"meta": {"lab": "West"}, "data": {"rows": [{"lot": "L-1"}]}}'

    table = read(text.encode(), FileForm(kind="json", rows_at=("data", "rows")))

    assert table.cells["lot"].to_dict() == {1: "L-1"}


@pytest.mark.parametrize(
    ("text", "rows_at", "what"),
    [
        ('{"meta": 1, "rows": []}', (), "an object with the keys 'meta', 'rows'"),
        ("5", (), "no list of rows in it"),
        ('{"rows": []}', ("data",), "the key 'data' is there 0 times"),
        ('{"rows": [], "rows": []}', ("rows",), "the key 'rows' is there 2 times"),
        ("[]", ("rows",), "the key 'rows' is there 0 times"),
        ("[]", (), "no rows with anything in them"),
        ("[{}]", (), "no rows with anything in them"),
        ('[{"a": 1}, 2]', (), "element 2 is no object"),
        ('[{"a": 1}, null]', (), "element 2 is no object"),
        ('[{"a": 1}, {"b": 1, "b": 2}]', (), "element 2 names 'b' twice"),
        ('[{"a.b": 1, "a": {"b": 2}}]', (), "element 1 names 'a.b' twice"),
        ('[{" a": 1, "a": 2}]', (), "element 1 names 'a' twice"),
        ('[{"a": 1},\n {"a": 2]', (), "line 2 is damaged"),
        ('[{"a": "\\u0000"}]', (), "a cell of row 1 holds the sign NUL"),
        ('[{"a": "\\ud800"}]', (), "half a sign"),
        ('[{"\\u0000surplus": 1}]', (), "the name of a column is no text"),
        ('[{"\\ud800": 1}]', (), "the name of a column is no text"),
    ],
)
def test_what_is_no_list_of_rows_is_refused_with_the_place(text, rows_at, what):
    assert what in refused(text, FileForm(kind="json", rows_at=rows_at)).what


@pytest.mark.parametrize(
    "text",
    [
        '[{"a": ' + "[" * 200_000,
        '[{"a": ' + "[" * 60 + "]" * 60 + "}]",
        '[{"a":' * 60 + "1" + "}]" * 60,
        "[" + '{"a":' * 60 + "1" + "}" * 60 + "]",
    ],
)
def test_objects_and_lists_may_not_nest_without_end(text):
    assert "more than 8 deep" in refused(text).what


def test_each_line_is_a_row_and_a_row_is_known_by_its_line():
    table = read(b'{"lot": "L-1"}\n\n  \r\n{"lot": "L-2", "heat": 5}', LINES)

    assert table.cells["lot"].to_dict() == {1: "L-1", 4: "L-2"}


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ('{"a": 1}\n{"a": \n', "line 2 is damaged"),
        ('{"a": 1} {"a": 2}\n', "line 1 is damaged"),
        ('{"a": 1}\n[1]\n', "line 2 is no object"),
        ('{"a": 1, "a": 2}\n', "line 1 names 'a' twice"),
    ],
)
def test_a_line_that_is_no_object_is_refused_with_its_number(text, what):
    assert what in refused(text, LINES).what


@pytest.mark.parametrize("form", [LIST, LINES])
@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16"])
def test_json_may_come_in_another_encoding(form, encoding):
    text = '{"größe": "µ"}' if form is LINES else '[{"größe": "µ"}]'
    name = "utf-8" if encoding == "utf-8-sig" else encoding

    table = read(text.encode(encoding), FileForm(kind=form.kind, encoding=name))

    assert table.cells["größe"].tolist() == ["µ"]


@pytest.mark.parametrize(
    ("limit", "value", "what"),
    [
        ("LARGEST_JSON_MB", 0.00001, "JSON lines"),
        ("MOST_COLUMNS", 2, "columns"),
        ("MOST_CELLS", 3, "more than 3 cells"),
        ("MOST_LINES", 1, "more than 1 rows"),
        ("LONGEST_CELL", 3, "a cell of row 2"),
    ],
)
def test_a_list_beyond_a_limit_is_refused_for_that_reason(monkeypatch, limit, value, what):
    monkeypatch.setattr(limits, limit, value)

    assert what in str(refused('[{"a": 1, "b": 2}, {"c": "long"}]'))


NAMES = st.text(st.characters(categories=["L", "N"], max_codepoint=0x2FF), min_size=1, max_size=3)
VALUES = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(),
    st.floats(allow_nan=False),
    st.text(st.characters(categories=["L", "N", "P", "S"]), max_size=5),
)


def as_shown(value: object) -> str:
    if value is None:
        return ""
    return value if isinstance(value, str) else json.dumps(value)


@settings(max_examples=80, deadline=None)
@given(
    st.lists(st.dictionaries(NAMES, VALUES, max_size=4), min_size=1, max_size=6),
    st.sampled_from(["json", "json lines"]),
)
def test_every_object_is_a_row_and_every_value_a_cell(written, kind):
    if not any(written):
        written = [*written, {"a": 1}]
    lines = [json.dumps(one, ensure_ascii=False) for one in written]
    text = "\n".join(lines) if kind == "json lines" else f"[{','.join(lines)}]"

    table = read(text.encode(), FileForm(kind=kind))

    assert table.cells.index.tolist() == list(range(1, len(written) + 1))
    for (_, row), one in zip(table.cells.iterrows(), written, strict=True):
        said = {name: cell for name, cell in row.items() if cell}
        texts = {name: as_shown(value) for name, value in one.items()}
        assert said == {name: text for name, text in texts.items() if text}
