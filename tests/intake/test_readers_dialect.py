"""The layout of a new file is proposed with reasons, and asked where it is open."""

import io
from typing import Any

import openpyxl  # type: ignore[import-untyped]
import pyarrow as pa
import pyarrow.parquet as pq
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.errors import UnreadableFile
from spc.intake.profiles import profile
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import read
from spc.intake.readers.dialect import Dialect, dialect
from spc.intake.readers.findings import Ambiguity


def proposed(text: str, encoding: str = "utf-8") -> FileForm:
    return dialect("results.csv", text.encode(encoding)).form


def asked(found: Dialect) -> dict[str, Ambiguity]:
    return {one.about: one for one in found.ambiguities}


def xlsx(**sheets: list[list[Any]]) -> bytes:
    book = openpyxl.Workbook()
    book.remove(book.active)
    for name, rows in sheets.items():
        page = book.create_sheet(name)
        for row in rows:
            page.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_the_layouts_of_the_demo_s_profiles_are_found_in_its_files(demo_files):
    """What a person wrote down for each source is what its files show, and nothing is asked."""
    forms = {
        parsed.profile: parsed.form
        for file in demo_files
        if file.parent.name == "profiles"
        for parsed in [profile.parse(file.read_text(encoding="utf-8"))]
    }
    sources = {
        "certificates": "delivery register with certificates",
        "sensor": "rapid sensor export",
        "moisture": "moisture balance export",
        "laboratory": "contract laboratory workbook",
    }
    seen = set()
    for file in demo_files:
        source = file.stem.split("_")[-1]
        if source not in sources or file.parent.name == "profiles" or source in seen:
            continue
        seen.add(source)

        found = dialect(file.name, file.read_bytes())

        expected = forms[sources[source]]
        for part in (
            *("kind", "encoding", "delimiter", "decimal", "thousands", "skip_rows"),
            *("header_rows", "unit_row", "sheet", "comment"),
        ):
            assert getattr(found.form, part) == getattr(expected, part), (source, part)
        assert found.ambiguities == ()
    assert seen == set(sources)


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_the_delimiter_is_what_splits_the_rows_evenly(delimiter):
    text = "\n".join(
        ["Device 2", delimiter.join(["Lot", "Reading", "Remark"])]
        + [delimiter.join([f"L-{n}", str(n), "dry; a bit, pale"]) for n in range(5)]
    )
    if delimiter in ",;":
        text = text.replace("dry; a bit, pale", '"dry; a bit, pale"')

    assert proposed(text).delimiter == delimiter


def test_a_decimal_comma_does_not_pass_for_a_delimiter():
    found = dialect("x", b"Charge;Feuchte\nL-1;11,5\nL-2;12,25\n")

    assert (found.form.delimiter, found.form.decimal) == (";", ",")
    assert found.ambiguities == ()


def test_two_signs_that_split_as_evenly_are_asked():
    found = dialect("x", b"Lot,name;Reading\nL,1;x\nL,2;y\n")

    assert set(asked(found)["delimiter"].candidates) == {",", ";"}
    assert found.form.delimiter == asked(found)["delimiter"].candidates[0]


def test_a_text_that_nothing_splits_is_asked():
    assert "No sign" in asked(dialect("x", b"Lot\nL-1\nL-2\n"))["delimiter"].why


def test_a_declared_delimiter_is_taken_at_its_word():
    found = dialect("x", b"sep=|\nLot|Reading, mg\nL-1|5,1\n")

    assert found.form.delimiter == "|"
    assert found.form.skip_rows == 0
    assert read(b"sep=|\nLot|a\nL-1|5\n", found.form).headers == ("Lot", "a")


@pytest.mark.parametrize(
    ("encoding", "named"),
    [
        *(("utf-8", "utf-8"), ("utf-8-sig", "utf-8"), ("utf-16", "utf-16"), ("cp1252", "cp1252")),
        *(("utf-16-le", "utf-16-le"), ("utf-16-be", "utf-16-be"), ("cp850", "cp850")),
        ("mac_roman", "mac_roman"),
    ],
)
def test_the_encoding_is_what_makes_words_of_the_bytes(encoding, named):
    text = "Gerät;Prüfer;Maß\nFW 2;Müller;5 µg\nFW 3;Jörg;6 µg\n"

    found = dialect("x", text.encode(encoding))

    assert found.form.encoding == named
    assert "encoding" not in asked(found)
    assert read(text.encode(encoding), found.form).headers == ("Gerät", "Prüfer", "Maß")


def test_bytes_that_make_no_words_in_any_encoding_are_asked_with_examples():
    found = asked(dialect("x", "Ÿ".join(["Ð", "Þ", "þ;5\n"]).encode("cp1252")))

    assert len(found["encoding"].candidates) == 3
    assert found["encoding"].examples


@pytest.mark.parametrize(
    ("numbers", "decimal", "thousands"),
    [
        (["1.5", "1000"], ".", ""),
        (["1,5", "1000"], ",", ""),
        (["0,125"], ",", ""),
        (["1234,567"], ",", ""),
        (["1,234.5"], ".", ","),
        (["1.234,5", "12"], ",", "."),
        (["1,234", "5.25"], ".", ","),
        (["1.234", "5,25"], ",", "."),
        (["1.234.567"], ",", "."),
        (["1,234,567"], ".", ","),
        (["1 234,5"], ",", " "),
        (["12 345"], ".", " "),
        (["1’234.5"], ".", "’"),
        (["<0.5", "> 35", "1e-3"], ".", ""),
        (["12", "7"], ".", ""),
        (["2026-03-02", "02.03.2026", "3,4-D", "1.2.3"], ".", ""),
    ],
)
def test_numbers_that_can_be_read_in_one_way_only_decide_the_signs(numbers, decimal, thousands):
    found = dialect("x", "\n".join(["Lot\tReading", *(f"L\t{n}" for n in numbers)]).encode())

    assert (found.form.decimal, found.form.thousands) == (decimal, thousands)
    assert "decimal" not in asked(found)


@pytest.mark.parametrize("number", ["1,234", "1.234", "<12,500"])
def test_a_number_that_may_be_a_thousand_times_larger_is_asked(number):
    question = asked(dialect("x", f"Lot\tReading\nL-1\t{number}\nL-2\t5\n".encode()))["decimal"]

    assert set(question.candidates) == {".", ","}
    assert question.examples == (number,)
    assert "a thousand times larger" in question.why


@pytest.mark.parametrize("numbers", [["1,5", "1.5"], ["1,5", "1,234,567"], ["1 234", "1’234"]])
def test_numbers_written_in_more_than_one_way_are_asked(numbers):
    text = "\n".join(["Lot\tReading", *(f"L\t{n}" for n in numbers)])

    assert "more than one way" in asked(dialect("x", text.encode()))["decimal"].why


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("Lot,Heat\nL-1,5\nL-2,6\n", (0, 1, False, "")),
        ("Device,FW 2\nPlace,Gate\n\nLot,Bag,Heat,Unit\nL,1,5,SHU\nL,2,6,SHU\n", (2, 1, False, "")),
        ("Report\n,,\nLot,Bag,Heat\nL,1,5\nL,2,6\n", (1, 1, False, "")),
        ("Sample,,Heat,\nLot,Bag,HPLC,Sensor\nL,1,5,6\nL,2,6,7\n", (0, 2, False, "")),
        ("A\nB\nSample,,Heat,\nLot,Bag,a,b\nL,1,5,6\nL,2,6,7\n", (2, 2, False, "")),
        ("Lot,Mass,Heat\n,g,SHU\nL,1,5\nL,2,6\n", (0, 1, True, "")),
        ("Lot,Mass,Heat\n-,[g],(SHU)\nL,1,5\nL,2,6\n", (0, 1, True, "")),
        ("Sample,,Heat\nLot,Mass,HPLC\n,g,SHU\nL,1,5\nL,2,6\n", (0, 2, True, "")),
        # A remark of as many cells as a row cannot be told from a lot of that name.
        ("# export\nLot,Heat\nL-1,5\n# a,remark\nL-2,6\n", (1, 1, False, "")),
        ("# export\nLot,Heat\nL-1,5\n# a remark\nL-2,6\n", (0, 1, False, "#")),
        ("#Lot,Heat\nL-1,5\nL-2,6\n", (0, 1, False, "")),
        ("Lot,Decision\nL-1,accepted\nL-2,on hold\n", (0, 1, False, "")),
        ("Lot,Taken\nL-1,2026-03-02\nL-2,02.03.2026 10:00\n", (0, 1, False, "")),
    ],
)
def test_the_rows_above_a_table_and_its_header_are_told_apart(text, parts):
    form = proposed(text)

    assert (form.skip_rows, form.header_rows, form.unit_row, form.comment) == parts


def test_a_text_above_the_header_that_may_be_a_title_is_asked():
    question = asked(dialect("x", b",,Results\nLot,Bag,Heat\nL,1,5\nL,2,6\n"))["header"]

    assert question.candidates == ("1", "2")
    assert question.examples == ("Results",)


def test_a_table_without_a_header_is_asked():
    found = dialect("x", b"L-1,5,1\nL-2,6,2\n")

    assert "No row looks like a header" in asked(found)["header"].why


def test_every_part_of_a_proposal_says_what_it_rests_on():
    text = "Device 2\nLot;Heat\n;SHU\nL-1;5,5\n# end\nL-2;1.234,5\n"

    found = dialect("x", text.encode())

    assert {one.about for one in found.evidence} == {
        *("encoding", "delimiter", "comment", "preamble", "header", "units"),
        *("decimal", "thousands"),
    }
    assert all(one.found.endswith(".") for one in found.evidence)


def test_the_first_sheet_with_a_table_is_proposed_and_the_others_are_asked():
    table: list[list[Any]] = [["Lot", "Heat"], ["L-1", 5.125], ["L-2", 6]]
    found = dialect("x", xlsx(Cover=[["Results"]], March=[["West"], *table], April=table))

    assert (found.form.sheet, found.form.skip_rows, found.form.kind) == ("March", 1, "workbook")
    assert asked(found)["sheet"].candidates == ("March", "April")


def test_typed_numbers_say_nothing_about_how_a_source_writes_numbers():
    typed = dialect("x", xlsx(A=[["Lot", "Heat"], ["L-1", 5.125], ["L-2", 6]]))
    mixed = dialect("x", xlsx(A=[["Lot", "Heat"], ["L-1", 5.125], ["L-2", "6,5"]]))

    assert (typed.form.decimal, typed.ambiguities) == (".", ())
    assert (mixed.form.decimal, mixed.ambiguities) == (",", ())


def test_a_workbook_without_a_table_is_refused():
    with pytest.raises(UnreadableFile, match="no sheet of it holds a table"):
        dialect("x", xlsx(Cover=[["Results"]]))


def test_the_list_of_rows_in_json_is_found():
    content = b'{"lab": {"name": "West"}, "data": {"rows": [{"lot": "L-1", "heat": 5.5}]}}'

    found = dialect("x", content)

    assert (found.form.kind, found.form.rows_at) == ("json", ("data", "rows"))
    assert read(content, found.form).headers == ("lot", "heat")


def test_several_lists_in_json_are_asked():
    found = dialect("x", b'{"lots": [{"lot": "L-1"}], "results": [{"lot": "L-1", "x": "1,5"}]}')

    assert asked(found)["rows"].candidates == ("lots", "results")


def test_json_without_a_list_of_objects_is_refused():
    with pytest.raises(UnreadableFile, match="no list of objects"):
        dialect("x", b'{"a": 1}')


def test_texts_in_typed_files_show_the_decimal_sign():
    out = io.BytesIO()
    pq.write_table(pa.table({"lot": ["L-1"], "text": ["5,25"], "typed": [1.125]}), out)

    assert dialect("x", out.getvalue()).form.decimal == ","
    assert dialect("x", b'{"a": "5,25", "b": 1.125}\n{"a": 1}\n').form.decimal == ","


WORDS = st.text(st.characters(categories=["L"], max_codepoint=0x17F), min_size=2, max_size=8)


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from([",", ";", "\t", "|"]),
    st.sampled_from([".", ","]),
    st.integers(0, 3),
    st.lists(WORDS, min_size=3, max_size=6, unique=True),
    st.integers(3, 8),
)
def test_a_file_written_in_a_layout_proposes_that_layout(sign, decimal, above, names, rows):
    if sign == decimal == ",":
        decimal = "."
    lines = [f"Remark {'x' * n}" for n in range(above)]
    lines.append(sign.join(names))
    lines += [sign.join(f"{row + 1}{decimal}{row}5" for _ in names) for row in range(rows)]

    form = proposed("\n".join(lines))

    assert (form.delimiter, form.decimal, form.skip_rows) == (sign, decimal, above)
    assert read("\n".join(lines).encode(), form).cells.index.size == rows
