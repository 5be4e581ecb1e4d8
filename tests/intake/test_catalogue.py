import pytest

from spc.errors import BadCatalogue
from spc.intake import catalogue

SMALLEST = """
[[material]]
material = "cayenne powder"
form = "powder"

[[supplier]]
supplier = "North Mill"

[[characteristic]]
characteristic = "heat"
unit = "SHU"
scale = "log"

[[method]]
method = "rapid sensor"
characteristic = "heat"
standing = "routine"
standard_uncertainty = 0.05
repeatability = 0.05
reading_unit = "µmol/L"

[[specification]]
material = "cayenne powder"
version = 1
effective_from = 2026-01-01
approved_by = "Mara Quill"
reason = "first issue"

[[specification.line]]
characteristic = "heat"
lower = 30000
upper = 60000.0
"""


def refused(text: str) -> BadCatalogue:
    with pytest.raises(BadCatalogue) as caught:
        catalogue.parse(text)
    assert "nothing was stored" in caught.value.remedy
    return caught.value


def test_a_text_that_is_no_toml_is_refused_with_its_line():
    with pytest.raises(BadCatalogue, match=r"not well-formed TOML: .*line 1.*Mend that line"):
        catalogue.parse("[[material\n")


@pytest.mark.parametrize(
    ("before", "after", "what", "where"),
    [
        ("[[material]]", "[[materials]]", "the key 'materials' means nothing", "catalogue"),
        ("[[supplier]]", "[supplier]", "write [[supplier]] with two brackets", "supplier"),
        ('form = "powder"', "", "the key 'form' is missing", "material 1 (cayenne powder)"),
        ('form = "powder"', 'form = "dust"', "form must be one of 'powder'", "material 1"),
        ('form = "powder"', 'form = "mash"\nhue = 1', "the key 'hue' means nothing", "material 1"),
        ('form = "powder"', 'form = "mash"\nhold_on = ["x"]', "no flag 'x'; flags are", "material"),
        ('form = "powder"', 'form = "mash"\nhold_on = "x"', "hold_on must be a list", "material 1"),
        ('form = "powder"', 'form = "mash"\nwithin_lot_cv = nan', "must be a number", "material 1"),
        ('scale = "log"', 'scale = "logarithmic"', "scale must be one of 'log'", "(heat)"),
        ('unit = "SHU"', 'unit = "scoville"', "unit 'scoville'", "catalogue"),
        ('unit = "SHU"', "unit = 1", "unit must be a text in quotes, not 1", "(heat)"),
        ('reading_unit = "µmol/L"', 'reading_unit = "barn"', "unit 'barn'", "catalogue"),
        ('standing = "routine"', 'standing = "good"', "one of 'reference', 'routine'", "method 1"),
        ("repeatability = 0.05", 'repeatability = "5%"', "must be a number, not '5%'", "method 1"),
        ("repeatability = 0.05", "repeatability = -0.1", "must be zero or more", "rapid sensor"),
        (
            "standard_uncertainty = 0.05",
            "standard_uncertainty = -1",
            "zero or more",
            "rapid sensor",
        ),
        (
            "repeatability = 0.05",
            "repeatability = 0\nfactors = 3",
            "factors must be a table",
            "method",
        ),
        (
            "repeatability = 0.05",
            "repeatability = 0\nfactors = {a = 'b'}",
            "each is a number",
            "method",
        ),
        ("repeatability = 0.05", "repeatability = 0\nscreening = 1", "true or false", "method 1"),
        ('r"\ncharacteristic = "heat"', 'r"\ncharacteristic = "hue"', "no characteristic", "rapid"),
        (
            "version = 1",
            'version = "1"',
            "version must be a whole number",
            "specification of cayenne",
        ),
        ("version = 1", "", "the key 'version' is missing", "specification of cayenne"),
        ("version = 1", "version = 1\nhue = 2", "the key 'hue' means nothing", "specification of"),
        (
            "effective_from = 2026-01-01",
            "",
            "must be a date such as 2026-09-01",
            "specification of",
        ),
        ("= 2026-01-01", '= "2026-01-01"', "must be a date such as", "specification of cayenne"),
        ("[[specification.line]]", "[specification.line]", "with two brackets", "line"),
        ("lower = 30000\nupper = 60000.0", "", "neither a lower nor an upper limit", "line heat"),
        ("lower = 30000", "lower = 0", "zero or less has no logarithm", "line heat"),
        ("lower = 30000", "lower = 70000", "lies above its upper one", "line heat"),
        ("lower = 30000", "consumer_risk = 5", "a risk must lie between 0 and 0.5", "line heat"),
        ("lower = 30000", "producer_risk = 0", "a risk must lie between 0 and 0.5", "line heat"),
        ("lower = 30000", 'requirement = "median"', "requirement must be one of", "line heat"),
        ("lower = 30000", "hue = 3", "the key 'hue' means nothing", "line heat"),
    ],
)
def test_a_catalogue_with_a_fault_is_refused_with_what_and_where(before, after, what, where):
    assert before in SMALLEST

    problem = refused(SMALLEST.replace(before, after, 1))

    assert what in problem.what
    assert where in problem.where


def test_a_group_that_is_a_list_of_texts_is_refused():
    assert "two brackets" in refused('supplier = ["North Mill"]').what


def test_a_specification_of_an_unknown_material_is_refused():
    text = SMALLEST.replace('[[specification]]\nmaterial = "cayenne powder"', "[[specification]]")

    assert refused(text).what == "its material is not in the catalogue."


def test_a_line_on_an_unknown_characteristic_is_refused():
    before, after = SMALLEST.split("[[specification.line]]")

    problem = refused(before + "[[specification.line]]" + after.replace("heat", "hue"))

    assert problem.what == "its characteristic is not in the catalogue."
    assert problem.where == "specification of cayenne powder, line hue"


@pytest.mark.parametrize("group", ["material", "supplier", "characteristic", "method"])
def test_what_is_described_twice_in_one_file_is_refused(group):
    start = SMALLEST.index(f"[[{group}]]")
    end = SMALLEST.index("\n\n[[", start)

    problem = refused(SMALLEST + "\n" + SMALLEST[start:end])

    assert problem.what == "it is described twice in one file."
    assert problem.where.startswith(group)


def test_a_specification_version_twice_in_one_file_is_refused():
    head, specification = SMALLEST.split("[[specification]]")

    problem = refused(head + ("[[specification]]" + specification) * 2)

    assert problem.where == "specification of cayenne powder, version 1"


def test_entries_may_refer_to_what_the_store_knows_already():
    known = catalogue.parse(SMALLEST)
    addition = SMALLEST[SMALLEST.index("[[specification]]") :].replace("version = 1", "version = 2")

    parsed = catalogue.parse(addition, known=known)

    assert parsed.entries == 1
    assert parsed.specifications[0].lines[0].unit == "SHU"


def test_flags_of_a_material_become_the_policy_of_its_specification():
    text = SMALLEST.replace('form = "powder"', 'form = "powder"\nhold_on = ["replicates spread"]')

    assert catalogue.parse(text).specifications[0].hold_on == ("replicates spread",)


def test_a_catalogue_is_told_from_other_texts():
    assert catalogue.is_catalogue(SMALLEST)
    assert not catalogue.is_catalogue('profile = "sensor"\n[[measure]]\n')


def test_names_are_found_or_none():
    parsed = catalogue.parse(SMALLEST)

    assert parsed.characteristic("heat") == parsed.characteristics[0]
    assert parsed.characteristic("hue") is None
    assert parsed.method("rapid sensor", "heat") == parsed.methods[0]
    assert parsed.method("rapid sensor", "moisture") is None


def test_the_demo_s_catalogue_comes_back_from_the_store_as_it_was_written(demo_store, demo_files):
    written = catalogue.parse(demo_files[0].read_text(encoding="utf-8"))

    kept = demo_store.catalogue()

    for group in ("materials", "suppliers", "characteristics", "methods", "specifications"):
        said = {str(one): one for one in getattr(written, group)}
        assert len(getattr(kept, group)) == len(said)
        assert all(one in getattr(kept, group) for one in said.values())
    assert kept.today == written.today == "2026-11-20"
