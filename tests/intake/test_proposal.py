"""What an unknown file seems to say, and what it leaves open."""

from dataclasses import replace

import pandas as pd
import pytest

from spc.intake import catalogue as catalogue_file
from spc.intake import read
from spc.intake.profiles import profile
from spc.intake.profiles.profile import FileForm, Measure
from spc.intake.proposals.date_styles import date_styles
from spc.intake.proposals.header_words import likeness, unit_in
from spc.intake.proposals.long_tables import LongColumns
from spc.intake.proposals.proposal import profile_text, propose, settled
from spc.intake.readers.dialect import dialect
from spc.intake.readers.findings import Ambiguity

GERMAN = (
    "Charge;Sack;Messung Nr.;Datum;Uhrzeit;Prüfer;Einwaage g;Puffer mL;Verdünnung;Messwert;Einheit",
    "R-1;1;1;03.11.2026;10:15;KB;0,1001;10,0;1;17,74;µmol/L",
    "R-1;2;1;13.11.2026;10:16;KB;0,1001;10,0;1;7,74;µmol/L",
)
FRENCH = ("Numéro de lot;Date de mesure;Humidité (%)", "R-1;03/11/2026;9,7", "R-2;14/11/2026;9,9")
LONG = (
    "Your lot,Analysed,Parameter,Method,Result,Unit,LOQ",
    "R-1,2026-11-03,Heat,HPLC,41200,SHU,500",
    "R-1,2026-11-03,Moisture,Oven,9.7,%,0.1",
    "R-1,2026-11-03,Aflatoxin B1,LC-MS/MS,<0.5,µg/kg,0.5",
    "R-1,2026-11-03,Aflatoxin G1,LC-MS/MS,<0.5,µg/kg,0.5",
    "R-1,2026-11-03,Salmonella,Culture,absent,-,",
    "R-2,2026-11-13,heat ,hplc,39200,SHU,500",
)
SPANISH = ("Lote;Muestra;Fecha;Picor (SHU)", "R-1;1;2026-11-03;41200", "R-2;1;2026-11-04;38100")
ENGLISH = ("Lot,Bag,Date,Heat (SHU)", 'R-1,1,03/04/25,"41,234"', 'R-2,1,04/05/25,"38,100"')


@pytest.fixture(scope="module")
def known(small_sources):
    return catalogue_file.parse(small_sources["catalogue.toml"])


@pytest.fixture
def proposed(known):
    """A file's layout with the questions it leaves, and what its columns seem to be."""

    def made(rows):
        content = "\n".join(rows).encode()
        found = dialect("new.csv", content)
        return found, propose(read(content, found.form), known)

    return made


def test_a_german_sensor_export_is_understood_column_by_column(proposed):
    found, told = proposed(GERMAN)

    assert not found.ambiguities
    assert told.columns == {
        "lot": ("Charge",),
        "sample": ("Sack",),
        "replicate": ("Messung Nr.",),
        "measured_at": ("Datum", "Uhrzeit"),
        "operator": ("Prüfer",),
        "extract_mass_g": ("Einwaage g",),
        "extract_volume_mL": ("Puffer mL",),
        "cell_dilution": ("Verdünnung",),
    }
    assert told.date_styles == ("%d.%m.%Y %H:%M",)
    (reading,) = told.readings
    assert (reading.reading, reading.unit, reading.unit_column) == ("Messwert", "", "Einheit")
    # Of what is measured, only heat follows from µmol/L; by which method is asked.
    assert {one.characteristic for one in reading.candidates} == {"heat"}
    assert len(reading.candidates) > 1


@pytest.mark.parametrize(
    ("rows", "header", "characteristic", "unit", "style"),
    [
        (FRENCH, "Humidité (%)", "moisture", "%", "%d/%m/%Y"),
        (SPANISH, "Picor (SHU)", "heat", "SHU", "%Y-%m-%d"),
    ],
)
def test_other_languages_name_their_columns_too(
    proposed, rows, header, characteristic, unit, style
):
    _, told = proposed(rows)

    (reading,) = told.readings
    assert (reading.reading, reading.unit) == (header, unit)
    assert {one.characteristic for one in reading.candidates} == {characteristic}
    assert told.columns["lot"] == (rows[0].split(";")[0],)
    assert told.date_styles == (style,)


@pytest.mark.parametrize(
    "header", ["Water activity", "Water activity (25 °C)", "aw", "aw-Wert", "Actividad de agua"]
)
def test_how_free_the_water_is_is_not_taken_for_how_much_there_is(proposed, header):
    _, wide = proposed((f"Lot;Date;{header};Moisture (%)", "R-1;2026-11-03;0.52;9.7"))
    _, long = proposed(
        (
            "Lot;Parameter;Result;Unit",
            "R-1;Moisture;9.7;%",
            f"R-1;{header};0.52;",
            "R-1;Heat;41200;SHU",
        )
    )

    assert [one.reading for one in wide.readings] == ["Moisture (%)"]
    named = {one.where["Parameter"][0]: one.candidates for one in long.readings}
    assert named[header] == ()
    assert {one.characteristic for one in named["Moisture"]} == {"moisture"}


def test_water_activity_is_proposed_as_itself_where_the_catalogue_has_it(small_sources):
    more = """
[[characteristic]]
characteristic = "water activity"
unit = "%"
[[method]]
method = "chilled mirror"
characteristic = "water activity"
standing = "routine"
standard_uncertainty = 0.01
repeatability = 0.01
reading_unit = "%"
"""
    catalogue = catalogue_file.parse(small_sources["catalogue.toml"] + more)

    told = propose(
        read("Lot;Water activity 25 °C\nR-1;52\n".encode(), FileForm(delimiter=";")), catalogue
    )

    assert [one.method for one in told.readings[0].candidates] == ["chilled mirror"]


def test_a_date_and_a_number_that_can_be_read_two_ways_are_asked(proposed):
    found, told = proposed(ENGLISH)

    assert told.date_styles == ("%d/%m/%y", "%m/%d/%y", "%y/%m/%d")
    (asked,) = found.ambiguities
    assert (asked.about, asked.candidates) == ("decimal", (".", ","))
    point = settled(found.form, asked, ".")
    comma = settled(found.form, asked, ",")
    assert (point.decimal, point.thousands) == (".", ",")
    assert (comma.decimal, comma.thousands) == (",", "")


@pytest.mark.parametrize(
    ("about", "answer", "changed"),
    [
        ("sheet", "Results", {"sheet": "Results"}),
        ("encoding", "cp1252", {"encoding": "cp1252"}),
        ("rows", "data.rows", {"rows_at": ("data", "rows")}),
        ("rows", "", {"rows_at": ()}),
        ("header", "2", {"header_rows": 2, "skip_rows": 1}),
        ("header", "1", {}),
    ],
)
def test_an_answer_changes_the_layout_it_was_asked_about(about, answer, changed):
    form = FileForm(skip_rows=2)

    told = settled(form, Ambiguity(about=about, candidates=(answer,), why="asked"), answer)

    assert told == replace(form, **changed)


def test_one_day_beyond_the_twelfth_settles_the_order():
    either = pd.Series(["03/04/2025", "04/05/2025"])

    assert date_styles(either) == ("%d/%m/%Y", "%m/%d/%Y")
    assert date_styles(pd.concat([either, pd.Series(["25/04/2025"])])) == ("%d/%m/%Y",)


def test_a_wide_file_of_compounds_and_contaminants_becomes_several_measures(proposed):
    _, told = proposed(
        (
            "Your lot,Analysed,Capsaicin µg/g,Dihydrocapsaicin µg/g,Aflatoxin B1 µg/kg,Salmonella",
            "R-1,2026-03-04,1000,500,0.7,absent",
        )
    )

    by_characteristic = {one.candidates[0].characteristic: one for one in told.readings}
    assert by_characteristic.keys() == {"heat", "aflatoxin B1", "Salmonella"}
    assert by_characteristic["heat"].parts == {
        "capsaicin": "Capsaicin µg/g",
        "dihydrocapsaicin": "Dihydrocapsaicin µg/g",
    }
    assert by_characteristic["heat"].unit == "µg/g"
    assert by_characteristic["aflatoxin B1"].unit == "µg/kg"
    assert by_characteristic["Salmonella"].unit == "in 25 g"


def test_a_long_table_becomes_one_reading_of_each_word_and_method(proposed):
    _, told = proposed(LONG)

    assert told.long == LongColumns(
        naming="Parameter", method="Method", reading="Result", unit="Unit"
    )
    assert [one.where["Parameter"] for one in told.readings] == [
        ("Heat",),
        ("Moisture",),
        ("Aflatoxin B1",),
        ("Aflatoxin G1",),
        ("Salmonella",),
    ]
    assert told.readings[0].where["Method"] == ("HPLC",)
    assert [[one.method for one in reading.candidates] for reading in told.readings] == [
        ["liquid chromatography"],
        ["moisture balance"],
        ["liquid chromatography"],
        # A toxin that the catalogue has not is none that it has.
        [],
        ["culture"],
    ]
    assert [one.unit_column for one in told.readings] == ["Unit"] * 4 + [""]
    assert told.readings[4].unit == "in 25 g"


@pytest.mark.parametrize(
    ("header", "rows", "units"),
    [
        (
            "Charge;Messdatum;Prüfmerkmal;Ergebnis;Einheit",
            ("R-1;03.11.2026;Schärfe;41200,5;SHU", "R-1;13.11.2026;Wassergehalt;9,7;%"),
            ["Einheit", "Einheit"],
        ),
        (
            "Numéro de lot;Date de mesure;Paramètre;Résultat",
            ("R-1;2026-11-03;Piquant (SHU);41000", "R-1;2026-11-03;Humidité (%);9.7"),
            ["SHU", "%"],
        ),
        (
            "Lote;Fecha;Ensayo;Valor;Unidad",
            ("R-1;2026-11-03;Picor;41000;SHU", "R-1;2026-11-03;Humedad;9.7;%"),
            ["Unidad", "Unidad"],
        ),
        (
            "Lot;Date;What;Value;Unit",
            ("R-1;2026-11-03;Heat;41000;SHU", "R-1;2026-11-03;Moisture;9.7;%"),
            ["Unit", "Unit"],
        ),
    ],
)
def test_long_tables_are_known_in_other_languages_and_by_their_words(proposed, header, rows, units):
    _, told = proposed((header, *rows))

    names = [{method.characteristic for method in one.candidates} for one in told.readings]
    assert names == [{"heat"}, {"moisture"}]
    assert [one.unit or one.unit_column for one in told.readings] == units


def test_the_heat_of_a_long_table_without_methods_is_asked_about(proposed):
    _, told = proposed(("Lot,Analysis,Result (SHU)", "R-1,Pungency,41000", "R-2,Pungency,9000"))

    (reading,) = told.readings
    assert (reading.where, reading.unit) == ({"Analysis": ("Pungency",)}, "SHU")
    assert len(reading.candidates) > 1


@pytest.mark.parametrize(
    "rows",
    [
        ("Sample,Test,Laboratory,Heat SHU", "A,1,Lab 1,41000", "A,2,Lab 1,42000"),
        ("Lot,Material,Moisture %", "R-1,heat treated flakes,9", "R-2,heat treated powder,8"),
        ("Lot,Remark,Heat SHU", "R-1,moisture high,41000", "R-2,late,40000", "R-3,wet,38000"),
        ("Lot,Parameter,Remark", "R-1,Heat,strong", "R-2,Moisture,wet"),
    ],
)
def test_a_column_that_only_mentions_a_characteristic_names_none(proposed, rows):
    _, told = proposed(rows)

    assert told.long is None
    assert all(not one.where for one in told.readings)


def test_a_long_table_is_read_by_the_profile_that_is_written_of_it(proposed):
    found, told = proposed(LONG)
    measures = [
        Measure(
            characteristic=one.candidates[0].characteristic,
            method=one.candidates[0].method,
            reading=one.reading,
            where=one.where,
            unit=one.unit,
            unit_column=one.unit_column,
        )
        for one in told.readings
        if one.candidates
    ]

    text = profile_text(
        "long", version=1, source="test", form=found.form, columns=told.columns, measures=measures
    )

    assert profile.parse(text).measures == tuple(measures)


def test_columns_of_a_lot_are_read_only_if_the_file_announces_lots(proposed):
    _, results = proposed(("Lot,Supplier,Heat SHU", "R-1,North Mill,41000"))
    _, register = proposed(
        ("Lot,Supplier,Material,Received,Heat SHU", "R-1,North Mill,paprika,2026-03-02,41000")
    )

    assert "supplier" not in results.columns
    assert register.columns["received_at"] == ("Received",)
    assert register.columns["supplier"] == ("Supplier",)


def test_a_column_like_nothing_known_is_not_read(proposed):
    _, told = proposed(("Lot,Heat SHU,Weather,Shelf", "R-1,41000,rain,7"))

    read_of = {header for headers in told.columns.values() for header in headers}
    assert {"Weather", "Shelf"}.isdisjoint(read_of | {one.reading for one in told.readings})


def test_the_text_of_a_profile_is_read_as_what_was_chosen(proposed):
    found, told = proposed(GERMAN)
    (reading,) = told.readings
    measure = Measure(
        characteristic="heat",
        method="rapid sensor",
        reading=reading.reading,
        unit_column=reading.unit_column,
        basis="as-is",
    )
    form = replace(found.form, date_format=told.date_styles[0])

    text = profile_text(
        "mill sensor",
        version=2,
        source="test",
        form=form,
        columns=told.columns,
        measures=[measure],
    )

    parsed = profile.parse(text)
    assert (parsed.profile, parsed.version, parsed.form) == ("mill sensor", 2, form)
    assert parsed.columns == told.columns
    assert parsed.measures == (measure,)


@pytest.mark.parametrize(
    ("header", "unit"),
    [
        ("Heat [SHU]", "SHU"),
        ("Feuchte (g/100 g)", "g/100 g"),
        ("Aflatoxin B1 ug/kg", "µg/kg"),
        ("Einwaage g", ""),
        ("Weather", ""),
    ],
)
def test_a_unit_is_found_in_a_header(header, unit):
    assert unit_in(header) == unit


def test_a_misspelt_name_is_like_the_word_and_another_word_is_not():
    assert likeness("Suppller", ("supplier",)) > 0.0
    assert likeness("Shelf", ("supplier", "lot")) == 0.0
    assert likeness("Ocratoxin A", ("ochratoxin a",)) > 0.0


@pytest.mark.parametrize(
    ("header", "name"),
    [("Aflatoxin B2", "aflatoxin b1"), ("AflatoxinG1", "aflatoxin b1"),
     ("Ochratoxin B", "ochratoxin a")],
)  # fmt: skip
def test_toxins_of_one_family_are_told_apart(header, name):
    assert likeness(header, (name,)) == 0.0


def test_no_style_fits_what_is_no_date():
    assert date_styles(pd.Series(["2026-02-30"])) == ()
    assert date_styles(pd.Series(["", ""])) == ()
