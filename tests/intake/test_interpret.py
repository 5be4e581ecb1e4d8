import re
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import spc.intake
from spc.errors import UnknownLayout
from spc.intake import Known, catalogue, interpret, read, recognise
from spc.intake.interpret import RESULT_FACTS
from spc.intake.profiles import profile
from tests.conftest import LONG_PROFILE
from tests.intake.test_marked import MARKED

# One row a determination: columns say what was measured, and how.
LONG_HEADER = b"Lot,Parameter,Method,Result,Unit\n"

SENSOR = "{lot},1,1,{day} 10:00:00,{portion},{buffer},{cell},{reading},{unit}"


@pytest.fixture(scope="module")
def sources(small_sources):
    return {"long": profile.parse(LONG_PROFILE)} | {
        name.removesuffix(".toml"): profile.parse(text)
        for name, text in small_sources.items()
        if name != "catalogue.toml"
    }


@pytest.fixture(scope="module")
def known(small_sources):
    return Known(
        catalogue=catalogue.parse(small_sources["catalogue.toml"]),
        lots=["L-1", "L-2"],
        now=np.datetime64("2026-03-10T12:00:00"),
    )


def told(content, source, known):
    """What the rows of a file say to one who knows a catalogue and lots."""
    return interpret(read(content, source.form), source, known)


def knowing(text, known):
    """The same day and lot, with another catalogue."""
    return Known(catalogue=catalogue.parse(text), lots=["L-1"], now=known.now)


@pytest.fixture
def said(sources, known, source_file):
    """What rows of one source say."""

    def interpreted(source, *rows):
        long = LONG_HEADER + "\n".join(rows).encode()
        content = long if source == "long" else source_file(source, *rows)
        return told(content, sources[source], known)

    return interpreted


@pytest.fixture
def held(said):
    """The one held row of a file of one row."""

    def only(source, row):
        batch = said(source, row)
        assert len(batch.held) == 1
        assert batch.results.empty
        assert batch.lots.empty
        assert batch.decisions.empty
        return batch.held.iloc[0]

    return only


HEADER = "Lot,Bag,No,Measured,Portion g,Buffer mL,Cell,Reading,Unit"


def sensor(reading="5", unit="µmol/L", **other):
    around = {"lot": "L-1", "day": "2026-03-04", "portion": "0.1", "buffer": "10", "cell": "1"}
    return SENSOR.format(**(around | other), reading=reading, unit=unit)


REGISTER = "L-3,{material},{supplier},{received},2025,{packages},25,{heat},{certified}"


def register(**other):
    around = {
        "material": "cayenne powder",
        "supplier": "North Mill",
        "received": "2026-03-05",
        "packages": "40",
        "heat": "41000",
        "certified": "2026-02-20",
    }
    return REGISTER.format(**(around | other))


HELD = [
    (
        "no-lot",
        "sensor",
        ",1,1,2026-03-04 10:00:00,0.1,10,1,5,µmol/L",
        "names no lot",
        "whose it is",
    ),
    ("repeated-header", "sensor", HEADER, "repeats the header", "Dismiss"),
    ("line-of-report", "sensor", "Total:,,,,,,,17,", "'Total:' is a line of the report", "Dismiss"),
    ("line-of-report", "sensor", "*** End of report ***,,,,,,,,", "and no lot", "Dismiss"),
    ("unknown-lot", "sensor", sensor(lot="LL-1"), "'LL-1' is not in", "Did you mean L-1"),
    ("missing-dilution", "sensor", sensor(portion=""), "portion (g) is not given", "never"),
    ("missing-dilution", "sensor", sensor(buffer=""), "buffer (mL) is not", "never"),
    ("missing-dilution", "sensor", sensor(cell=""), "(1 if there was none)", "never"),
    (
        "implausible-dilution",
        "sensor",
        sensor(portion="1", buffer="1"),
        "0.1 g in 10 mL is 100",
        "notes",
    ),
    ("implausible-dilution", "sensor", sensor(portion="0"), "portion (g) is 0.", "Correct"),
    ("implausible-dilution", "sensor", sensor(cell="-1"), "cell (1 if", "Correct"),
    (
        "unknown-unit",
        "sensor",
        sensor(unit="µmol/l"),
        "Unit 'µmol/l' of heat",
        "Did you mean µmol/L",
    ),
    ("unknown-unit", "sensor", sensor(unit="ASTA units"), "'ASTA units' of heat", "spelling"),
    ("unknown-unit", "sensor", sensor(unit=""), "The unit of heat is empty", "spelling"),
    ("unreadable-number", "sensor", sensor("n.d."), "heat 'n.d.' is not a number", "Correct"),
    ("unreadable-number", "sensor", sensor("1e40"), "heat '1e40' is not a number", "Correct"),
    ("unreadable-number", "sensor", sensor(portion="~0.1"), "extract mass g '~0.1'", "Corr"),
    ("unreadable-number", "sensor", sensor(portion="<0.1"), "not a plain number", "Correct"),
    ("ambiguous-number", "register", register(heat="41.000"), "thousand-fold", "Ask"),
    ("unreadable-date", "sensor", sensor(day="2026-02-30"), "%Y-%m-%d", "guessed"),
    ("unreadable-date", "register", register(received="5 March"), "the day of receipt", "guessed"),
    (
        "unreadable-date",
        "moisture",
        "L-1;1;26.10.2025;02:30;9,7",
        "measurement '26.10.2025 02:30' comes twice in Europe/Berlin",
        "which moment",
    ),
    (
        "unreadable-date",
        "moisture",
        "L-1;1;30.03.2025;02:30;9,7",
        "'30.03.2025 02:30' does not exist in Europe/Berlin",
        "distance from UTC",
    ),
    (
        "implausible-date",
        "sensor",
        sensor(day="0026-03-04"),
        "'0026-03-04 10:00:00' lies before 1990-01-01",
        "two digits",
    ),
    ("implausible-date", "register", register(received="1899-12-30"), "day of receipt", "clock"),
    (
        "implausible-date",
        "decisions",
        "L-1,accepted,1970-01-01,M. Q.,QA,ok",
        "no lot is that",
        "Intake",
    ),
    (
        "impossible-heat",
        "sensor",
        sensor("34", cell="1000"),
        "comes to 16\u202f600\u202f000 SHU, and pure capsaicin has 16\u202f100\u202f000 SHU",
        "dilution in the cell (1000), the buffer on the portion (10 mL on 0.1 g)",
    ),
    (
        "impossible-heat",
        "register",
        register(heat="4.1e9"),
        "more than 1 g of it in 1 g",
        "Compare the unit (SHU) and the decimal sign",
    ),
    (
        "impossible-heat",
        "laboratory",
        "L-1,2026-03-04,900000,200000,,",
        "comes to 17",
        "the unit (µg/g)",
    ),
    ("missing-date", "register", register(received=""), "day of receipt is not given", "assumed"),
    ("future-date", "sensor", sensor(day="2026-04-03"), "in the future", "clock"),
    (
        "future-date",
        "register",
        register(received="2027-01-01"),
        "The day of receipt",
        "order of day",
    ),
    ("future-date", "decisions", "L-1,accepted,2099-01-01,M. Q.,QA,ok", "in the future", "clock"),
    (
        "unknown-supplier",
        "register",
        register(supplier="Nroth Mill"),
        "'Nroth Mill'",
        "mean North Mill",
    ),
    (
        "unknown-material",
        "register",
        register(material="saffron"),
        "Material 'saffron'",
        "Add it to",
    ),
    ("unknown-word", "laboratory", "L-1,2026-03-04,,,,maybe", "neither absent nor", "[words]"),
    ("missing-part", "laboratory", "L-1,2026-03-04,100,,,", "dihydrocapsaicin is empty", "Ask"),
    ("nothing-measured", "laboratory", "L-1,2026-03-04,-,-,-,-", "reports nothing", "Dismiss"),
    ("too-many-cells", "sensor", sensor() + ",17", "more cells than the header: '17'", "separator"),
    ("negative-number", "sensor", sensor("-5"), "heat '-5' is negative", "repeated"),
    ("negative-number", "register", register(packages="-40"), "packages -40", "Correct"),
    (
        "negative-number",
        "laboratory",
        "L-1,2026-03-04,100,-3,,",
        "heat '-3' is negative",
        "repeated",
    ),
    ("unreadable-number", "register", register(packages="40.5"), "packages 40.5", "Correct"),
    ("unreadable-number", "register", register(packages="4e9"), "packages 4000000000", "Corr"),
    ("zero-on-log-scale", "register", register(heat="0"), "heat is zero", "limit"),
    (
        "unknown-decision",
        "decisions",
        "L-1,maybe,2026-03-05,M. Q.,QA,ok",
        "'maybe'",
        "one of: accepted",
    ),
    (
        "unsigned-decision",
        "decisions",
        "L-1,accepted,2026-03-05,,QA,ok",
        "names nobody",
        "who decided",
    ),
    (
        "unreadable-date",
        "decisions",
        "L-1,accepted,soon,M. Q.,QA,ok",
        "the day of decision",
        "guessed",
    ),
    ("missing-date", "decisions", "L-1,accepted,,M. Q.,QA,ok", "decision is not given", "assumed"),
    ("no-quantification-limit", "register", register(heat="<LOQ"), "needs the", "Add"),
    (
        "unknown-characteristic",
        "long",
        "L-1,Moistur,balance,9.7,%",
        "Parameter says 'Moistur', which",
        "Did you mean Moisture",
    ),
    (
        "unknown-characteristic",
        "long",
        "L-1,Lead,ICP,0.2,mg/kg",
        "maps to nothing",
        "Add the word to the source profile",
    ),
    (
        "unknown-characteristic",
        "long",
        "L-1,,HPLC,41000,SHU",
        "Parameter is empty, so that nothing says",
        "Add",
    ),
    (
        "unknown-characteristic",
        "long",
        "L-1,Heat (SHU),NIR,41000,SHU",
        "Method says 'NIR'",
        "Add the word",
    ),
    (
        "unknown-characteristic",
        "long",
        "L-1,Pungency,by taste,41000,SHU",
        "maps Parameter 'Pungency' and Method 'by taste' together to nothing",
        "Add",
    ),
    (
        "part-by-itself",
        "long",
        "L-1,Capsaicin (mg/kg),HPLC,1800,mg/kg",
        "'Capsaicin (mg/kg)' by itself, which is a part of a heat",
        "total in one row",
    ),
    (
        "part-by-itself",
        "long",
        "L-1,Dihydrocapsaicine,HPLC,700,mg/kg",
        "not added up",
        "one row a sample",
    ),
    ("nothing-measured", "long", "L-1,Lead,ICP,-,mg/kg", "reports nothing", "Dismiss"),
    ("unreadable-number", "long", "L-1,Moisture,,dry,%", "moisture 'dry' is not", "Correct"),
    ("unknown-unit", "long", "L-1,Moisture,,9.7,furlong", "'furlong' of moisture", "spelling"),
]


@pytest.mark.parametrize(("code", "source", "row", "reason", "remedy"), HELD)
def test_a_row_at_fault_is_held_with_its_reason_and_what_to_do(
    held, code, source, row, reason, remedy
):
    found = held(source, row)

    assert found["code"] == code
    assert reason in found["reason"]
    assert remedy in found["remedy"]


def test_a_part_below_a_limit_that_nobody_gave_is_held(sources, known, small_sources):
    text = small_sources["catalogue.toml"].replace("quantification_limit = 5.0\n", "")
    content = b"Your lot,Analysed,Capsaicin,Dihydrocapsaicin,Aflatoxin B1,Salmonella\n"
    content += b"L-1,2026-03-04,100,<LOQ,,\n"

    batch = told(content, sources["laboratory"], knowing(text, known))

    assert batch.held["code"].tolist() == ["no-quantification-limit"]


def test_a_held_row_keeps_its_text_as_it_came(held):
    found = held("sensor", 'L-1,1,1,2026-03-04 10:00:00,0.1,10,1,"5, or ""six""",µmol/L,stray')

    assert '"Reading": "5, or \\"six\\""' in found["original"]
    assert '"surplus": "stray"' in found["original"]
    assert found["lot"] == "L-1"


def test_the_first_reason_found_stands(held):
    assert held("sensor", ",1,1,never,0.1,10,1,n.d.,furlong")["code"] == "no-lot"


def test_a_held_row_does_not_hold_its_neighbours(said):
    batch = said("sensor", sensor("n.d."), sensor("5"))

    assert batch.held.index.tolist() == [2]
    assert batch.results.index.tolist() == [3]
    assert batch.rows.tolist() == [2, 3]


def test_a_reading_above_the_range_is_censored_at_the_range_and_keeps_its_text(said):
    batch = said("sensor", sensor("41.2"), sensor(">35"), sensor("35"))

    assert batch.results["reading_text"].tolist() == ["41.2", ">35", "35"]
    assert batch.results["qualifier"].tolist() == [">", ">", ""]
    assert batch.results["reading"].tolist() == [35.0, 35.0, 35.0]
    assert np.isinf(batch.results["value_high"]).tolist() == [True, True, False]
    assert batch.results["value_low"].tolist() == pytest.approx([35 * 0.30541 * 100 * 16] * 3, 1e-4)


def test_a_reading_below_quantification_is_censored_and_keeps_its_text(said):
    batch = said("sensor", sensor("0.2"), sensor("<0.5"), sensor("<LOQ"), sensor("0"))

    assert batch.results["reading_text"].tolist() == ["0.2", "<0.5", "<LOQ", "0"]
    assert batch.results["qualifier"].tolist() == ["<"] * 4
    assert batch.results["reading"].tolist() == [0.5] * 4
    assert batch.results["value_low"].tolist() == [0.0] * 4
    assert (batch.results["value_high"] > 0).all()


@pytest.mark.parametrize("unit", ["µmol/L", "\N{GREEK SMALL LETTER MU}mol/L", "umol/L", "uM", "µM"])
def test_a_unit_is_one_unit_however_it_is_typed(said, unit):
    batch = said("sensor", sensor(unit=unit))

    assert batch.results["reading_unit"].tolist() == ["µmol/L"]
    # 5 µmol/L × 305.41 g/mol × 100 mL/g = 152.7 mg/kg; × 16 = 2443 SHU.
    assert batch.results["value_low"].iloc[0] == pytest.approx(5 * 0.30541 * 100 * 16, rel=1e-4)


def test_the_range_is_compared_in_the_unit_of_the_row(said):
    batch = said("sensor", sensor("0.04", "mmol/L"), sensor("0.0004", "mmol/L"))

    assert batch.results["qualifier"].tolist() == [">", "<"]
    assert batch.results["reading"].tolist() == pytest.approx([0.035, 0.0005])


def test_parts_below_their_limit_leave_the_sum_between_two_values(said):
    batch = said(
        "laboratory",
        "L-1,2026-03-04,1000,<LOQ,,",
        "L-1,2026-03-05,1000,2.0,,",
        "L-1,2026-03-06,1000,500,,",
    )

    low, high = batch.results["value_low"], batch.results["value_high"]
    assert low.tolist() == pytest.approx([16_100, 16_100, 24_150])
    assert high.tolist() == pytest.approx([16_100 + 5 * 16.1, 16_100 + 5 * 16.1, 24_150])
    assert batch.results["reading_text"].iloc[0] == "1000 + <LOQ"


def test_a_row_may_bring_several_results(said):
    batch = said("laboratory", "L-1,2026-03-04,1000,500,0.7,Not detected")

    assert batch.results.index.tolist() == [2, 2, 2]
    assert batch.results["characteristic"].tolist() == ["heat", "aflatoxin B1", "Salmonella"]
    assert batch.results["value_low"].tolist()[1:] == [0.7, 0.0]


def test_each_row_of_a_long_table_is_the_characteristic_that_it_names(said):
    batch = said(
        "long",
        "L-1,Heat (SHU),HPLC,41000,SHU",
        "L-1,heat  (shu),by taste,38000,SHU",
        "L-1,PUNGENCY,hplc,41200,SHU",
        "L-1,moisture,oven,9.7,%",
        "L-1,Salmonella,plate,absent,-",
    )

    assert batch.held.empty
    assert batch.results.index.tolist() == [2, 3, 4, 5, 6]
    assert batch.results["characteristic"].tolist() == ["heat"] * 3 + ["moisture", "Salmonella"]
    assert batch.results["method"].tolist() == [
        "liquid chromatography",
        "supplier certificate",
        "liquid chromatography",
        "moisture balance",
        "culture",
    ]
    assert batch.results["value_low"].tolist() == [41000, 38000, 41200, 9.7, 0]


def test_one_sample_may_stand_in_many_rows_of_a_long_table(said):
    batch = said("long", "L-1,Heat (SHU),HPLC,41000,SHU", "L-1,Moisture,oven,9.7,%")

    assert batch.results["identity"].nunique() == 2


def test_a_long_table_reads_each_row_as_if_it_stood_alone(said):
    rows = (
        "L-1,Heat (SHU),HPLC,41000,SHU",
        "L-1,Heat (SHU),NIR,41000,SHU",
        "L-2,Moisture,oven,<LOQ,%",
        "L-2,Lead,ICP,0.2,mg/kg",
        "L-1,Salmonella,plate,maybe,-",
        "L-2,Moisture,oven,9.7,%",
    )

    many = said("long", *rows * 5)

    for which, row in enumerate(rows):
        alone, mine = said("long", row), range(2 + which, 2 + 5 * len(rows), len(rows))
        assert many.held["reason"].reindex(mine).dropna().tolist() == (
            alone.held["reason"].tolist() * 5
        )
        results = many.results[many.results.index.isin(mine)]
        for fact in ("lot", "characteristic", "method", "reading_text", "value_low", "identity"):
            assert results[fact].tolist() == alone.results[fact].tolist() * 5, fact


def test_a_printed_heat_is_compared_with_the_rows_of_its_own_word_only(known):
    text = LONG_PROFILE.replace(
        'where = { Parameter = ["Heat (SHU)"], Method = ["by taste", ""] }',
        'where = { Parameter = ["Heat as told"] }\nprinted = "Printed"',
    ).replace("supplier certificate", "liquid chromatography")
    content = LONG_HEADER.replace(b"Unit", b"Unit,Printed")
    content += b"L-1,Pungency,HPLC,41000,SHU,1\nL-1,Heat as told,,41000,SHU,1\n"

    source = profile.parse(text)
    batch = told(content, source, known)

    assert batch.held["code"].to_dict() == {3: "contradiction"}
    assert batch.results.index.tolist() == [2]


def test_a_detection_is_one(said):
    batch = said("laboratory", "L-1,2026-03-04,,,,DETECTED")

    assert batch.results["reading"].tolist() == [1.0]


def test_local_measuring_times_are_kept_in_utc(said):
    batch = said("moisture", "L-1;1;05.03.2026;10:30;10,5")

    assert batch.results["measured_at"].tolist() == [pd.Timestamp("2026-03-05 09:30")]
    assert batch.results["value_low"].tolist() == [10.5]


def test_a_result_without_a_time_is_taken_in(said):
    batch = said("register", register(certified=""))

    assert batch.results["measured_at"].isna().all()


def test_names_are_spelled_as_the_catalogue_spells_them(said):
    batch = said("register", register(supplier="NORTH MILL"))

    assert batch.lots["supplier"].tolist() == ["North Mill"]


def test_a_sign_in_a_cell_does_not_make_two_samples_one(said):
    batch = said(
        "sensor", sensor().replace(",1,1,", ",1|2,3,"), sensor().replace(",1,1,", ",1,2|3,")
    )

    assert batch.results["identity"].nunique() == 2


def test_a_row_says_the_same_by_itself_and_among_many(said):
    """Of many rows each distinct text is worked on once; of one row every text is its own."""
    rows = [
        *(sensor(reading) for reading in ("5", "<LOQ", "41.2", "n.d.", "-1", ">35", "0.2")),
        *(sensor(unit=unit) for unit in ("umol/L", "mg/kg", "furlong", "")),
        sensor(lot="L-2"),
        sensor(lot="L-9"),
        sensor(portion=""),
        sensor(day="2026-02-30"),
    ]

    many = said("sensor", *rows * 4)

    number = np.arange(2, 2 + 4 * len(rows))
    for which, row in enumerate(rows):
        alone, mine = said("sensor", row), number[which :: len(rows)]
        held = many.held[many.held.index.isin(mine)]
        results = many.results[many.results.index.isin(mine)]
        assert held["reason"].tolist() == alone.held["reason"].tolist() * 4
        assert held["remedy"].tolist() == alone.held["remedy"].tolist() * 4
        assert len(results) == 4 * len(alone.results)
        for fact in RESULT_FACTS if len(results) else ():
            assert results[fact].tolist() == alone.results[fact].tolist() * 4, fact


def test_a_zero_is_told_of_what_is_zero_only(sources, known, small_sources, source_file):
    text = small_sources["catalogue.toml"].replace("quantification_limit = 0.5\n", "")
    content = source_file("laboratory", "L-1,2026-03-04,1000,500,0,absent")

    batch = told(content, sources["laboratory"], knowing(text, known))

    assert batch.held["reason"].tolist() == [
        "The row says that aflatoxin B1 is zero, which no method can find."
    ]


def test_the_cells_of_a_file_that_is_at_fault_throughout_are_all_kept(said):
    batch = said("sensor", *[sensor(unit="ppm of heat")] * 15_000)

    assert len(batch.held) == 15_000
    assert batch.held["reason"].unique().tolist() == ["Unit 'ppm of heat' of heat is not known."]
    assert batch.held.index.tolist() == list(range(2, 15_002))
    assert batch.held["original"].str.contains('"Unit": "ppm of heat"').all()


@pytest.mark.parametrize(("measured", "held"), [("heat", ["part-by-itself"]), ("capsaicin", [])])
def test_a_compound_is_read_as_itself_but_never_as_the_whole_heat(
    small_sources, known, measured, held
):
    catalogued = """
[[characteristic]]
characteristic = "capsaicin"
unit = "mg/kg"
[[method]]
method = "liquid chromatography"
characteristic = "capsaicin"
standing = "reference"
standard_uncertainty = 0.02
repeatability = 0.02
reading_unit = "mg/kg"
"""
    words = LONG_PROFILE.replace('"Heat (SHU)", "Pungency"', '"Capsaicin"').replace(
        '"heat"\nmethod = "liquid', f'"{measured}"\nmethod = "liquid'
    )
    described = knowing(small_sources["catalogue.toml"] + catalogued, known)
    source = profile.parse(words)
    row = b"L-1,capsaicin,HPLC,1800,mg/kg"

    batch = told(LONG_HEADER + row, source, described)

    assert batch.held["code"].tolist() == held
    assert batch.results["value_low"].tolist() == ([] if held else [1800.0])


def test_a_row_of_a_compound_with_the_others_beside_it_is_a_heat(known):
    source = profile.parse(
        LONG_PROFILE.replace(
            'where = { Parameter = ["Heat (SHU)", "Pungency"], Method = ["HPLC"] }\n'
            'reading = "Result"',
            'where = { Parameter = ["Capsaicin"] }\n'
            'parts = { capsaicin = "Result", dihydrocapsaicin = "Second" }',
        )
    )
    content = b"Lot,Parameter,Method,Result,Second,Unit\nL-1,Capsaicin,HPLC,1000,500,mg/kg\n"

    batch = told(content, source, known)

    assert batch.held.empty
    assert batch.results["value_low"].tolist() == pytest.approx([24_150.0])


def test_the_first_day_that_is_kept_and_pure_capsaicin_are_not_held(said):
    first = said("sensor", sensor().replace("2026-03-04 10:00", "1990-01-01 00:00"))
    pure = said("laboratory", "L-1,2026-03-04,1000000,<5,,", "L-1,2026-03-05,1000000,0,,")

    assert first.held.empty
    assert pure.held.empty
    assert pure.results["value_low"].tolist() == pytest.approx([16.1e6, 16.1e6])


@pytest.mark.parametrize("source", ["sensor", "register", "moisture", "laboratory", "decisions"])
def test_a_file_without_rows_says_nothing(said, source):
    batch = said(source)

    assert batch.rows.empty
    assert batch.held.empty
    assert batch.results.empty


def test_the_profile_with_the_most_headers_is_chosen(sources):
    lean = profile.parse(
        'profile = "lean"\n[file]\n[columns]\nlot = "Lot"\n[decisions]\nby = "By"\n'
    )

    found = recognise(
        ["Lot", "Decision", "Decided", "By", "Role", "Reason"], [lean, sources["decisions"]]
    )

    assert found.profile == "decisions"


def test_a_file_no_profile_fits_is_told_what_the_nearest_lacks(sources):
    with pytest.raises(UnknownLayout, match=r"nearest, 'sensor', lacks 'Cell'.*README"):
        recognise(
            ["Lot", "Bag", "No", "Measured", "Portion g", "Buffer mL", "Reading", "Unit"],
            list(sources.values()),
        )


def test_without_any_profile_one_is_asked_for():
    with pytest.raises(UnknownLayout, match="no source profile yet"):
        recognise(["Lot"], [])


def test_a_profile_that_names_an_unknown_method_says_so(sources, known, source_file):
    content = source_file("sensor", sensor())

    with pytest.raises(UnknownLayout, match="maps heat by rapid sensor"):
        told(content, sources["sensor"], knowing("", known))


def test_every_code_of_the_source_is_shown_above():
    folder = Path(spc.intake.__file__).parent
    quoted = re.compile(r'^\s+f?"([a-z{}]+(?:-[a-z{}]+)+)",$', re.MULTILINE)
    used = {
        code for file in folder.rglob("*.py") for code in quoted.findall(file.read_text("utf-8"))
    }

    shown = {code for code, *_ in HELD} | {code for *_, codes in MARKED for code in codes.values()}

    assert used - {"unknown-{kind}"} == shown - {"unknown-supplier", "unknown-material"}
