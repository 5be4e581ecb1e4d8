"""Delimited text, as laboratories and their machines write it."""

import csv
import io

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from spc.errors import UnreadableFile
from spc.intake.profiles.profile import FileForm
from spc.intake.readers import SURPLUS, limits, read

PLAIN = FileForm()


def refused(content: bytes, form: FileForm = PLAIN) -> UnreadableFile:
    with pytest.raises(UnreadableFile) as caught:
        read(content, form)
    assert caught.value.remedy
    return caught.value


def rows(content: bytes, form: FileForm = PLAIN) -> dict[int, list[str]]:
    """Row number to its cells, the surplus left out where there is none."""
    cells = read(content, form).cells
    assert cells.index.dtype == "int64"
    assert cells.index.name == "source_row"
    assert (cells.dtypes == "str").all()
    return {
        int(number): [*row[:-1], row[-1]] if row[-1] else row[:-1]
        for number, row in zip(cells.index, cells.to_numpy().tolist(), strict=True)
    }


def test_a_byte_order_mark_is_no_part_of_the_first_header():
    assert read("\ufeffLot,Reading\nL-1,5\n".encode(), PLAIN).headers == ("Lot", "Reading")


def test_a_byte_order_mark_further_down_is_a_sign_like_others():
    content = "Lot,Reading\n\ufeffL-1,5\nL-2,6\n".encode()

    assert rows(content) == {2: ["\ufeffL-1", "5"], 3: ["L-2", "6"]}


@pytest.mark.parametrize("encoding", ["cp1252", "latin-1", "utf-8", "utf-16", "utf-16-le"])
def test_the_encoding_of_the_profile_is_used(encoding):
    content = "Gerät;Grenze\nFW 2;< 5 µg\n".encode(encoding)

    table = read(content, FileForm(encoding=encoding, delimiter=";"))

    assert table.headers == ("Gerät", "Grenze")
    assert table.cells.loc[2, "Grenze"] == "< 5 µg"


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|", " ", "¦"])
def test_any_sign_may_part_the_cells(delimiter):
    content = f"Lot{delimiter}Reading\nL-1{delimiter}5\n".encode()

    assert rows(content, FileForm(delimiter=delimiter)) == {2: ["L-1", "5"]}


@pytest.mark.parametrize("line", ["sep=;\n", "sep=;\r\n", "SEP=; \r", "\ufeffsep=;\n"])
def test_a_first_line_that_names_the_delimiter_is_obeyed_and_is_no_row(line):
    content = f"{line}Lot;Reading\nL-1;5,2\n".encode()

    assert rows(content) == {3: ["L-1", "5,2"]}


def test_a_first_line_that_only_looks_like_it_is_a_header():
    assert read(b"sep=a\nL-1\n", PLAIN).headers == ("sep=a",)


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_may_end_in_any_way(end):
    content = end.join(["Lot,Reading", "L-1,5", "", "L-2,6"]).encode()

    assert rows(content) == {2: ["L-1", "5"], 4: ["L-2", "6"]}


def test_lines_may_end_in_all_ways_at_once():
    content = b'Lot,Reading\rL-1,5\r\n\nL-2,6\n\rL-3,"a\r\nb"\rL-4,8'

    assert rows(content) == {
        2: ["L-1", "5"],
        4: ["L-2", "6"],
        6: ["L-3", "a\r\nb"],
        8: ["L-4", "8"],
    }


def test_two_header_rows_are_joined_and_a_group_reaches_to_the_next():
    content = b"Sample,,Capsaicinoids,\nLot,Analysed,Capsaicin,Total\nL-1,2026-03-02,100,<LOQ\n"

    assert read(content, FileForm(header_rows=2)).headers == (
        "Sample | Lot",
        "Sample | Analysed",
        "Capsaicinoids | Capsaicin",
        "Capsaicinoids | Total",
    )


def test_a_first_group_without_a_name_leaves_its_columns_alone():
    content = b",Quality\nLot,Colour\nL-1,90\n"

    assert read(content, FileForm(header_rows=2)).headers == ("Lot", "Quality | Colour")


def test_a_name_that_was_merged_downwards_is_its_column_s_own():
    content = b"Lot,,Heat,,Remark\n,Date,HPLC,Sensor,\nL-1,2026-03-02,100,90,fine\n"

    table = read(content, FileForm(header_rows=2))

    assert table.headers == ("Lot", "Date", "Heat | HPLC", "Heat | Sensor", "Remark")
    assert table.cells[SURPLUS].tolist() == [""]


def test_a_row_of_units_joins_the_names():
    content = b"Lot,Heat,Moisture,Colour,Note\n,[SHU],(%),ASTA units,\nL-1,41000,8,90,-\n"

    table = read(content, FileForm(unit_row=True))

    assert table.headers == ("Lot", "Heat [SHU]", "Moisture [%]", "Colour [ASTA units]", "Note")
    assert table.cells.index.tolist() == [3]


def test_units_in_the_header_and_in_a_row_of_their_own_read_the_same():
    beside = read(b"Lot,Heat [SHU]\nL-1,5\n", PLAIN)
    below = read(b"Lot,Heat\n,SHU\nL-1,5\n", FileForm(unit_row=True))

    assert beside.headers == below.headers


def test_preamble_blank_lines_and_comments_are_no_rows():
    content = b"Device 2\nSouth gate\nLot,Reading\n\nL-1,5\n , \n# end of export, 1 row\n"

    assert rows(content, FileForm(skip_rows=2, comment="#")) == {5: ["L-1", "5"]}


def test_a_comment_of_as_many_cells_as_a_row_is_no_row_either():
    content = b"Lot,Reading\n  # from here,on\nL-1,5\n"

    assert rows(content, FileForm(comment="#")) == {3: ["L-1", "5"]}


def test_rows_carry_their_number_in_the_file():
    content = b'Lot,Remark\n\nL-1,"two\nlines"\nL-2,plain\r\nL-3,last'

    assert rows(content) == {3: ["L-1", "two\nlines"], 5: ["L-2", "plain"], 6: ["L-3", "last"]}


def test_blanks_around_cells_are_no_part_of_them():
    content = 'Lot,Reading\n L-1 ,\N{NO-BREAK SPACE}5\t\n" L-2",6\n'.encode()

    assert rows(content) == {2: ["L-1", "5"], 3: ["L-2", "6"]}


def test_quotes_enclose_delimiters_and_double_themselves():
    content = b'Lot,Remark\n"L-1","a, ""b"""\nL-2,5" sieve\n'

    assert rows(content) == {2: ["L-1", 'a, "b"'], 3: ["L-2", '5" sieve']}


def test_quotes_within_cells_that_none_enclose_are_signs_like_others():
    content = b'Lot,Remark\nL-1,5" sieve\nL-2,"\n'.replace(b',"\n', b',5"\n')

    assert rows(content) == {2: ["L-1", '5" sieve'], 3: ["L-2", '5"']}


def test_ragged_rows_are_filled_and_surplus_cells_are_kept_apart():
    content = b"Lot,Reading\nL-0,4\nL-1\nL-2,5,6,,7\nL-3,8\n"

    assert rows(content) == {
        2: ["L-0", "4"],
        3: ["L-1", ""],
        4: ["L-2", "5", "6 7"],
        5: ["L-3", "8"],
    }


def test_a_delimiter_at_the_end_of_every_line_adds_nothing():
    content = b"Lot,Reading\nL-1,5,\nL-2,6,\nL-3,7,!\n"

    assert rows(content) == {2: ["L-1", "5"], 3: ["L-2", "6"], 4: ["L-3", "7", "!"]}


def test_headers_that_repeat_are_numbered_and_never_collide():
    table = read(b"Lot,Lot,Lot (2),Lot,,\nA,B,C,D\n", PLAIN)

    assert table.headers == ("Lot", "Lot (2)", "Lot (2) (2)", "Lot (3)")
    assert table.cells.iloc[0].tolist() == ["A", "B", "C", "D", ""]


@pytest.mark.parametrize("content", [b"Lot,Reading\n", b"Lot,Reading", b"Lot,Reading\n\n \n,\n"])
def test_a_file_of_only_a_header_has_no_rows(content):
    cells = read(content, PLAIN).cells

    assert cells.empty
    assert cells.columns.tolist() == ["Lot", "Reading", SURPLUS]
    assert (cells.dtypes == "str").all()


@pytest.mark.parametrize(
    ("content", "line"),
    [
        (b'Lot,Remark\nL-1,fine\nL-2,"open\nL-3,swallowed\n', 4),
        (b'Lot,Remark\nL-1,"closed"too early\n', 2),
        (b'Lot,"Remark\nL-1,fine\n', 2),
        (b'Lot,Remark\n"L-1","a\nb"\n"L-2","a" b\n', 4),
    ],
)
def test_a_damaged_quote_refuses_the_file_with_its_line(content, line):
    problem = refused(content)

    assert f"line {line} is damaged" in problem.what
    assert "quotes" in problem.remedy


@pytest.mark.parametrize("content", [b"", b" \r\n\t\n"])
def test_an_empty_file_is_refused(content):
    assert refused(content).what == "the file is empty."


def test_a_file_without_a_header_is_refused():
    assert refused(b"# nothing\n", FileForm(comment="#")).what == "it has no header."


def test_a_text_file_with_nul_is_refused():
    assert "not a text file" in refused(b"Lot,Reading\nL-1,5\0\n").what


def test_binary_bytes_are_refused():
    assert "not utf-8 text" in refused(bytes(range(128, 256))).what


def test_another_encoding_than_the_profile_s_is_refused():
    assert "encoding" in refused("Gerät,Lot\nFW,L-1\n".encode("cp1252")).remedy


@pytest.mark.parametrize("encoding", ["no-such", "zip", "hex"])
def test_an_encoding_that_is_none_is_refused(encoding):
    assert encoding in refused(b"Lot\n", FileForm(encoding=encoding)).what


def test_half_a_sign_in_an_encoding_that_allows_it_is_refused():
    assert "utf-7 text" in refused(b"Lot\n+2AA-\n", FileForm(encoding="utf-7")).what


@pytest.mark.parametrize(
    ("limit", "value", "what"),
    [
        ("LARGEST_MB", 0.00001, "larger than"),
        ("MOST_LINES", 4, "more than 4 lines"),
        ("MOST_COLUMNS", 1, "columns"),
        ("MOST_CELLS", 7, "more than 7 cells"),
        ("LONGEST_CELL", 4, "a cell of row 3 has more than 4 characters"),
        ("LONGEST_LINE", 10, "line 1 has more than 10 characters"),
    ],
)
def test_a_file_beyond_a_limit_is_refused_for_that_reason(monkeypatch, limit, value, what):
    monkeypatch.setattr(limits, limit, value)

    assert what in refused(b"Lot,Reading\n1,2\nL-100,2\n3,4\n5,6\n").what


def test_a_row_of_too_many_cells_is_refused_with_its_number(monkeypatch):
    monkeypatch.setattr(limits, "MOST_COLUMNS", 3)

    assert "row 3 has 4 cells" in refused(b"Lot,Reading\nL-1,5\nL-2,1,2,3\n").what


@pytest.mark.parametrize("size", [100_001, 140_000])
def test_a_text_that_swallowed_half_the_file_is_refused_with_its_row(size):
    problem = refused(b'Lot,Remark\nL-1,"' + b"x" * size + b'"\n')

    assert problem.what == "a cell of row 2 has more than 100,000 characters."


def test_a_long_file_with_everything_in_it_is_read_as_by_a_plain_reader_of_records():
    pieces = [
        *("L-{n},5.{n}", ' L-{n} ,"6,{n}"', '"L ""{n}""",7', "L-{n}", "L-{n},1,2,3", ""),
        *("# remark {n}", ",", '"L-{n}","two\r\nlines"', "\ufeffL-{n},8", 'L-{n},5" sieve'),
    ]
    for odd in (pieces[:-1], pieces):
        lines = [piece.format(n=n) for n in range(400) for piece in (*pieces[:2] * 4, *odd)]
        text = "Lot,Reading\r\n" + "\r\n".join(lines)
        plain = csv.reader(io.StringIO(text, newline=""), strict=True)

        found = rows(text.encode(), FileForm(comment="#"))

        records = [(plain.line_num, [cell.strip() for cell in record]) for record in plain]
        # The reader says where a record ends; where the next begins is known by that.
        ends = [0, *(end for end, _ in records)]
        expected = {
            before + 1: [
                *record[:2],
                *[""] * (2 - len(record)),
                *filter(None, [" ".join(record[2:])]),
            ]
            for before, (_, record) in zip(ends, records, strict=False)
            if any(record) and not record[0].startswith("#")
        }
        del expected[1]
        assert len(text) > 2**15
        assert found == expected


CELLS = st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=8)


@settings(max_examples=80, deadline=None)
@given(st.lists(st.lists(CELLS, min_size=1, max_size=4), max_size=5))
def test_cells_that_were_written_are_the_cells_that_are_read(written):
    out = io.StringIO(newline="")
    csv.writer(out).writerows([["a", "b", "c", "d"], *written])

    table = read(out.getvalue().encode(), PLAIN)

    stripped = [[cell.strip() for cell in row] for row in written]
    expected = [[*row, *[""] * (5 - len(row))] for row in stripped if any(row)]
    assert table.cells.to_numpy().tolist() == expected
