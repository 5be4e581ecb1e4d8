import pytest

from spc.errors import BadProfile
from spc.intake import recognise
from spc.intake.profiles import profile
from spc.intake.readers import read

WHOLE = """
profile = "sensor"
[file]
[columns]
lot = "Lot"
[[measure]]
characteristic = "heat"
method = "rapid sensor"
reading = "Reading"
unit = "SHU"
"""


def refused(text: str) -> BadProfile:
    with pytest.raises(BadProfile) as caught:
        profile.parse(text)
    assert "Correct the profile and receive it again." in str(caught.value)
    return caught.value


def test_a_text_that_is_no_toml_is_refused_with_its_line():
    with pytest.raises(BadProfile, match=r"not well-formed TOML: .*line 2.*Mend that line"):
        profile.parse('profile = "sensor"\n[file\n')


@pytest.mark.parametrize(
    ("before", "after", "what", "where"),
    [
        ('profile = "sensor"', "", "the key 'profile' is missing", "without a name"),
        ("[file]", "", "the key 'file' is missing", "profile sensor"),
        ("[file]", "[[file]]", "file must be a table", "profile sensor"),
        ("[file]", 'version = "2"\n[file]', "version must be a whole number, not '2'", "sensor"),
        ('lot = "Lot"', 'sample = "Bag"', "names no column for the lot", "profile sensor"),
        ('lot = "Lot"', 'batch = "Lot"', "the key 'batch' means nothing here", "[columns]"),
        ('lot = "Lot"', "lot = []", "lot names no column", "[columns]"),
        ('lot = "Lot"', 'lot = ""', "lot names no column", "[columns]"),
        ('lot = "Lot"', "lot = 3", "columns must be a table in which each is", "profile sensor"),
        ("[[measure]]", "[measure]", "measure must be a list", "profile sensor"),
        ("[[measure]]", "[lots]\nhue = 'x'\n[[measure]]", "the key 'hue' means", "[lots]"),
        (
            "[[measure]]",
            "[decisions]\nhue = 'x'\n[[measure]]",
            "the key 'hue' means",
            "[decisions]",
        ),
        ("[[measure]]", "[[measures]]", "the key 'measures' means nothing here", "profile sensor"),
        (
            "[[measure]]",
            "[words]\nok = 'fine'\n[[measure]]",
            "one of 'absent', 'detected'",
            "sensor",
        ),
        (
            "[[measure]]",
            "[spellings.units]\na = 'b'\n[[measure]]",
            "the key 'units'",
            "[spellings]",
        ),
        ('method = "rapid sensor"', "", "the key 'method' is missing", "[[measure]]"),
        ('characteristic = "heat"', "", "the key 'characteristic' is missing", "[[measure]]"),
        ('reading = "Reading"', 'colour = "x"', "the key 'colour' means nothing", "[[measure]]"),
        ('reading = "Reading"', "", "either one reading or its parts", "profile sensor"),
        (
            'reading = "R',
            'parts = {a = "b"}\nreading = "R',
            "either one reading or its parts",
            "sensor",
        ),
        (
            'reading = "Reading"',
            "parts = {a = 1}",
            "parts must be a table in which each",
            "measure",
        ),
        ('unit = "SHU"', "", "the measure of heat has no unit", "profile sensor"),
        (
            'unit = "SHU"',
            'unit = "SHU"\nwhere = {Test = "x"}',
            "in which each is a list",
            "measure",
        ),
        ('unit = "SHU"', 'unit = "SHU"\nwhere = {Test = []}', "no word for heat", "sensor"),
        ('unit = "SHU"', 'unit = "SHU"\nwhere = {"" = ["x"]}', "names no column", "sensor"),
    ],
)
def test_a_profile_with_a_fault_is_refused_with_what_and_where(before, after, what, where):
    assert before in WHOLE

    problem = refused(WHOLE.replace(before, after))

    assert what in problem.what
    assert where in problem.where


@pytest.mark.parametrize(
    ("said", "what", "where"),
    [
        ("colour = 1", "the key 'colour' means nothing here", "[file]"),
        ("skip_rows = true", "skip_rows must be a whole number", "[file]"),
        ('skip_rows = "3"', "skip_rows must be a whole number", "[file]"),
        ("skip_rows = -1", "skip_rows must be zero or more", "sensor"),
        ("header_rows = 3", "header_rows 1 or 2", "sensor"),
        ("header_rows = 0", "header_rows 1 or 2", "sensor"),
        ('kind = "xlsx"', "kind must be one of 'delimited', 'workbook'", "[file]"),
        ('missing = "-"', "missing must be a list", "[file]"),
        ("missing = [1]", "a list in which each is a text in quotes", "[file]"),
        ('encoding = "utf-99"', "there is no encoding 'utf-99'", "sensor"),
        ('delimiter = ";;"', "the delimiter must be one sign", "sensor"),
        ('delimiter = ""', "the delimiter must be one sign", "sensor"),
        ('time_zone = "Mars/Base"', "there is no time zone 'Mars/Base'", "sensor"),
        ('time_zone = "../etc"', "there is no time zone", "sensor"),
        ('decimal = "·"', "decimal must be '.' or ','", "sensor"),
        ('thousands = "."', "differ from thousands", "sensor"),
        ('date_format = "%Q"', "'%Q' is no form of a date", "sensor"),
        ('date_format = ""', "dates are never guessed", "sensor"),
    ],
)
def test_a_form_of_file_with_a_fault_is_refused_with_what_and_where(said, what, where):
    problem = refused(WHOLE.replace("[file]", f"[file]\n{said}"))

    assert what in problem.what
    assert where in problem.where


def test_a_profile_that_maps_nothing_is_refused():
    problem = refused(WHOLE[: WHOLE.index("[[measure]]")])

    assert problem.what == "it maps neither measures, lots nor decisions."


def test_a_profile_is_told_from_other_texts():
    assert profile.is_profile(WHOLE)
    assert not profile.is_profile('[[material]]\nmaterial = "x"\n')


def test_the_headers_a_profile_needs_are_those_it_names():
    parsed = profile.parse(
        WHOLE.replace('reading = "Reading"', 'parts = { capsaicin = "Cap" }').replace(
            'lot = "Lot"', 'lot = ["Year", "Lot"]\nsample = "Bag"'
        )
    )

    assert parsed.headers == {"Year", "Lot", "Bag", "Cap"}


SELECTING = """
[[measure]]
characteristic = "moisture"
method = "moisture balance"
reading = "Reading"
unit = "%"
"""


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("", 'where = {Test = ["water"]}'),
        ('where = {Test = ["heat"]}', ""),
        ('where = {Test = ["heat", "Water "]}', 'where = {Test = ["water"]}'),
        ('where = {Test = ["heat"]}', 'where = {Method = ["oven"]}'),
    ],
)
def test_two_measures_that_would_read_one_cell_of_a_row_are_refused(first, second):
    problem = refused(f"{WHOLE}{first}\n{SELECTING}{second}\n")

    assert problem.what == (
        "heat by rapid sensor and moisture by moisture balance would both read 'Reading' of the"
        " same row."
    )


def test_a_column_that_selects_rows_is_one_that_the_profile_needs():
    text = f'{WHOLE}where = {{Test = ["heat"]}}\n{SELECTING}where = {{Test = ["water"]}}\n'

    assert profile.parse(text).headers == {"Lot", "Reading", "Test"}


def test_words_are_compared_without_regard_to_case():
    parsed = profile.parse(WHOLE + '[words]\n"Nicht nachgewiesen" = "absent"\n')

    assert parsed.words == {"nicht nachgewiesen": "absent"}


def test_every_file_of_the_demo_is_recognised_by_one_profile(demo_files):
    profiles = [
        profile.parse(file.read_text(encoding="utf-8"))
        for file in demo_files
        if file.parent.name == "profiles"
    ]
    by_folder = {"1_certificates": {"delivery register with certificates"}}
    by_folder["3_decisions"] = {"decisions from the old spreadsheet"}
    by_folder["2_results"] = {
        "rapid sensor export",
        "moisture balance export",
        "contract laboratory workbook",
    }
    for file in demo_files[len(profiles) + 1 :: 7]:
        kind = "workbook" if file.suffix == ".xlsx" else "delimited"
        skip = {"moisture": 2, "laboratory": 3}.get(file.stem.split("_")[1], 0)
        fitting = [one for one in profiles if (one.form.kind, one.form.skip_rows) == (kind, skip)]
        table = read(file.read_bytes(), fitting[0].form)

        assert recognise(table.headers, profiles).profile in by_folder[file.parent.name]
