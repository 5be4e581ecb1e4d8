"""A file that no profile fits: asked about on the screen, then taken in."""

import pytest
from streamlit.testing.v1 import AppTest

from dashboard.intake.tables.sources import (
    MEANT,
    columns_table,
    is_long,
    long_columns,
    meanings,
    measured,
)
from dashboard.intake.words import proposals
from dashboard.intake.words.sources import column, columns
from spc.intake import read
from spc.intake.profiles.profile import FileForm
from spc.intake.proposals.long_tables import LongColumns
from spc.intake.proposals.proposal import propose
from tests.dashboard.screen import field, words
from tests.staff import ME

UNKNOWN = b"Lote;Muestra;Fecha;Picor (SHU)\nL-1;1;2026-03-04;41200\nL-1;2;2026-03-04;42100\n"


def test_an_unknown_file_is_asked_about_and_then_taken_in(slipped):
    def part():
        # The function is run as a script of its own.
        from dashboard.frame import session  # noqa: PLC0415
        from dashboard.intake import sources  # noqa: PLC0415
        from spc.errors import UnknownLayout  # noqa: PLC0415

        content = "Lote;Muestra;Fecha;Picor (SHU)\nL-1;1;2026-03-04;41200\nL-1;2;2026-03-04;42100\n"
        unknown = UnknownLayout("no source profile fits its columns.", remedy="Write one.")
        sources.form(session.store(), "nuevo.csv", content.encode(), unknown)

    app = AppTest.from_function(part, default_timeout=60).run()
    assert "Answer what is open" in words(app)
    field(app, "text_input", "Name of this source").set_value("spanish mill").run()
    method = field(app, "selectbox", "Picor (SHU) is")
    assert method.value is None
    method.select("heat by liquid chromatography").run()
    field(app, "selectbox", "Basis of Picor (SHU)").select("as it is").run()
    assert "2 rows = 2 stored + 0 held" in words(app)
    assert "spanish mill" not in slipped.intake.profiles()

    field(app, "button", "Save the profile and take in the file").click().run()

    assert not app.exception
    assert slipped.intake.profiles()["spanish mill"] == 1
    assert "liquid chromatography" in set(slipped.results("L-1")["method"])
    # The next file of this kind is known by its header.
    receipt, _ = slipped.preview("next.csv", UNKNOWN.replace(b"-04;4", b"-05;4"), by=ME)
    assert receipt.profile == "spanish mill"


def test_a_long_table_is_asked_about_word_by_word_and_then_taken_in(slipped):
    def part():
        # The function is run as a script of its own.
        from dashboard.frame import session  # noqa: PLC0415
        from dashboard.intake import sources  # noqa: PLC0415
        from spc.errors import UnknownLayout  # noqa: PLC0415

        content = (
            "Lot,Parameter,Result,Unit\nL-1,Heat,41200,SHU\nL-1,Moisture,9.7,%\nL-1,Lead,1,mg/kg\n"
        )
        unknown = UnknownLayout("no source profile fits its columns.", remedy="Write one.")
        sources.form(session.store(), "long.csv", content.encode(), unknown)

    app = AppTest.from_function(part, default_timeout=60).run()
    asked = field(app, "multiselect", "What of Parameter is to be read?")
    assert (asked.value, asked.options) == ([0, 1], ["Heat", "Moisture", "Lead"])
    assert "Not read: Lead. Such rows will wait" in words(app)
    field(app, "text_input", "Name of this source").set_value("long lab").run()
    field(app, "selectbox", "Heat is").select("heat by liquid chromatography").run()
    assert field(app, "selectbox", "Moisture is").value.method == "moisture balance"
    assert field(app, "selectbox", "Unit of Moisture").value == "Unit"
    field(app, "selectbox", "Basis of Heat").select("as it is").run()
    field(app, "selectbox", "Basis of Moisture").select("it makes no difference").run()
    assert "3 rows = 2 stored + 1 held" in words(app)

    field(app, "button", "Save the profile and take in the file").click().run()

    assert not app.exception
    receipt = slipped.intake.files()["receipt"].iloc[0]
    told = columns(slipped.intake.profile_of(receipt))
    assert told["Parameter"] == "names what was measured, or how"
    assert told["Result"] == "heat by liquid chromatography, moisture by moisture balance"


def test_a_long_table_needs_exactly_one_column_of_each_kind(small_store):
    table = read(b"Lot,Parameter,Result,Unit\nL-1,Heat,41200,SHU\n", FileForm())
    told = columns_table(table, propose(table, small_store.catalogue()))
    twice = told.assign(**{MEANT: proposals.NAMING})

    assert told[MEANT].tolist() == [
        "our lot number",
        proposals.NAMING,
        proposals.READING,
        proposals.UNIT,
    ]
    assert long_columns(told) == LongColumns(naming="Parameter", reading="Result", unit="Unit")
    assert is_long(twice)
    assert long_columns(twice) is None


def test_the_columns_of_an_unknown_file_are_told_in_words(small_store):
    table = read(UNKNOWN, FileForm(delimiter=";"))

    told = columns_table(table, propose(table, small_store.catalogue()))

    assert told["what it is"].tolist() == [
        "our lot number",
        "bag or sample",
        "when it was measured",
        "what was measured",
    ]
    assert told["in the file"].iloc[3] == "41200, 42100"
    assert measured(told) == ["Picor (SHU)"]
    assert meanings(told)["measured_at"] == ("Fecha",)


def test_every_column_that_a_profile_reads_has_words(slipped):
    receipt = slipped.held()["receipt"].iloc[0]

    told = columns(slipped.intake.profile_of(receipt))

    assert told["Portion g"] == "mass of the portion, g"
    assert told["Reading"] == "heat by rapid sensor"
    assert told["Unit"] == "unit of heat"
    assert column("Remark", told) == "Remark (not read)"


@pytest.mark.parametrize(
    ("style", "words"),
    [
        ("%d/%m/%y", "day/month/year of two digits"),
        ("%Y-%m-%d %H:%M:%S", "year-month-day time"),
        ("%Y-%m-%dT%H:%M:%S", "year-month-day time"),
    ],
)
def test_a_style_of_date_is_told_in_words(style, words):
    assert proposals.date_style(style) == words
