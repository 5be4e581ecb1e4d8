"""A proposed profile is a file to fill in, and is taken in only once it is filled in."""

import re
import tomllib

import pytest

from spc.errors import BadProfile, UnreadableFile
from spc.intake.catalogue import parse as catalogue_of
from spc.intake.profiles.profile import parse
from spc.intake.proposals.questions import proposed_file
from tests.staff import ME

OPEN = (
    b"Lote;Muestra;Fecha;Picor (SHU)\n"
    b"L-1;1;03/04/2026 08:10;41.200\nL-1;2;04/04/2026 08:10;42.100\n"
)
LONG = b"Lot,Parameter,Result,Unit\nL-1,Heat,41200,SHU\nL-1,Moisture,9.7,%\nL-1,Lead,1,mg/kg\n"


@pytest.fixture(scope="module")
def catalogue(small_sources):
    return catalogue_of(small_sources["catalogue.toml"])


def answered(told, answers):
    """The text after a person put answers in place of the marks."""
    text = told.text
    for number, lines in answers.items():
        for line in lines:
            key, value = (part.strip() for part in line.split("=", 1))
            text = text.replace(f'{key} = "?{number}"', f"{key} = {value}")
    return text


def test_every_question_of_a_file_is_asked_with_the_lines_that_would_answer_it(catalogue):
    told = proposed_file("nuevo.csv", OPEN, catalogue)

    asked = {one.text.split("?")[0]: one.answers for one in told.questions}
    assert list(asked) == [
        "What is this source called",
        "Which sign stands before the decimals",
        "How are its dates written",
        "In which time zone does it tell times",
        "What is Picor (SHU)",
        "On which basis is Picor (SHU)",
    ]
    assert asked["Which sign stands before the decimals"] == (
        'decimal = "."   thousands = ""',
        'decimal = ","   thousands = "."',
    )
    assert asked["How are its dates written"] == (
        'date_format = "%d/%m/%Y %H:%M"',
        'date_format = "%m/%d/%Y %H:%M"',
    )


def test_a_proposal_with_an_open_question_is_refused_by_its_number(catalogue):
    told = proposed_file("nuevo.csv", OPEN, catalogue)
    text = answered(told, {1: ['profile = "mill"'], 2: ['decimal = ","', 'thousands = "."']})

    with pytest.raises(BadProfile, match=r"profile mill: its question \d is not answered"):
        parse(text)


def test_an_answered_proposal_takes_in_the_file_that_it_was_made_from(small_store):
    told = proposed_file("nuevo.csv", OPEN, small_store.catalogue())
    text = answered(
        told,
        {
            1: ['profile = "mill"'],
            2: ['decimal = ","', 'thousands = "."'],
            3: ['date_format = "%d/%m/%Y %H:%M"'],
            4: ['time_zone = "UTC"'],
            5: ['characteristic = "heat"', 'method = "liquid chromatography"'],
            6: ['basis = "as-is"'],
        },
    )

    small_store.receive_bytes("mill.toml", text.encode(), by=ME)
    receipt = small_store.receive_bytes("nuevo.csv", OPEN, by=ME)

    assert (receipt.profile, receipt.stored, receipt.held) == ("mill", 2, 0)
    said = small_store.results("L-1").query("method == 'liquid chromatography'")
    assert {"41.200", "42.100"} <= set(said["reading_text"])


def test_a_long_table_is_proposed_word_by_word_and_names_what_is_not_read(catalogue):
    told = proposed_file("long.csv", LONG, catalogue)

    measures = tomllib.loads(told.text)["measure"]
    assert [one["where"] for one in measures] == [
        {"Parameter": ["Heat"]},
        {"Parameter": ["Moisture"]},
    ]
    assert "# Not read are the rows of 'Lead'." in told.text


def test_a_file_that_says_nothing_is_asked_about_column_by_column(catalogue):
    told = proposed_file("odd.csv", b"x,y\n1,2\n3,4\n", catalogue)

    assert told.questions[1].answers == ('lot = "x"', 'lot = "y"')
    assert told.questions[2].answers == ('reading = "x"', 'reading = "y"')


def test_no_text_of_a_file_leaves_its_remark(catalogue):
    content = 'Lot,Heat,"x\u2028profile = 2\x85[file]\r\nevil = 1"\nL-1,3,4\nL-2,4,5\n'.encode()

    told = proposed_file("a\nevil = 1.csv", content, catalogue)

    assert "evil" not in tomllib.loads(told.text)
    marks = set(re.findall(r'"\?(\d+)"', told.text))
    assert marks >= {str(number) for number in range(1, len(told.questions) + 1)}


def test_a_file_without_a_table_is_refused(catalogue):
    with pytest.raises(UnreadableFile, match="a PDF"):
        proposed_file("a.pdf", b"%PDF-1.7", catalogue)
