import pytest

from spc.acceptance import MOISTURE_BY_FORM
from spc.acceptance.evidence.flags import NAMES
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


# The beginnings of lines that a plan decides.
COUNT = 'requirement = "count"\n'
SHARE = 'requirement = "proportion"\n'


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
        (
            "lower = 30000\nupper = 60000.0",
            COUNT,
            "neither a lower nor an upper limit",
            "line heat",
        ),
        ('form = "powder"', 'form = "mash"\ndue_days = 0', "due_days must be one day", "material"),
        ('form = "powder"', 'form = "mash"\nvalid_days = -1', "valid_days must be one", "material"),
        ('form = "powder"', 'form = "mash"\ndue_days = 1.5', "a whole number", "material 1"),
        *(
            (
                'form = "powder"',
                f'form = "mash"\nplausible_moisture = {moisture}',
                "must be a lower and a higher moisture",
                "material cayenne powder",
            )
            for moisture in ("[5]", "[20, 2]", "[-1, 5]", "[50, 101]")
        ),
        *(
            (
                "version = 1",
                f"version = 1\n{key}",
                "belongs to the material.",
                "specification of cayenne powder",
            )
            for key in ("hold_on = []", "due_days = 3", "valid_days = 3", "plausible_moisture = []")
        ),
    ],
)
def test_a_catalogue_with_a_fault_is_refused_with_what_and_where(before, after, what, where):
    assert before in SMALLEST

    problem = refused(SMALLEST.replace(before, after, 1))

    assert what in problem.what
    assert where in problem.where


@pytest.mark.parametrize(
    ("said", "what"),
    [
        ("lower = 0", "zero or less has no logarithm"),
        ("lower = 70000", "lies above its upper one"),
        ("consumer_risk = 5", "a risk must lie between 0 and 0.5"),
        ("producer_risk = 0", "a risk must lie between 0 and 0.5"),
        ('requirement = "median"', "requirement must be one of"),
        ("hue = 3", "the key 'hue' means nothing"),
        ('rule = "coin"', "rule must be one of 'two risks'"),
        ("plan_n = 5", "an average line has no plan_n."),
        (COUNT + "plan_n = 5\nplan_k = 1.5\nplan_c = 0", "a count line has no plan_k."),
        (COUNT, "a count line needs plan_n and plan_c; plan_n is missing."),
        (COUNT + "plan_n = 5", "a count line needs plan_n and plan_c; plan_c is missing."),
        (SHARE + "plan_n = 5", "a proportion line needs plan_n and plan_k; plan_k is missing."),
        (SHARE + "plan_n = 5\nplan_k = 1\nplan_c = 0", "a proportion line has no plan_c."),
        (SHARE + "plan_n = 2\nplan_k = 1", "plan_n must be 3 or more"),
        (SHARE + "plan_n = 2.5\nplan_k = 1", "a whole number"),
        (COUNT + "plan_n = 5\nplan_c = 5", "plan_c must be 0 or more"),
        (COUNT + "plan_n = 5\nplan_c = -1", "plan_c must be 0 or more"),
        (
            COUNT + 'plan_n = 5\nplan_c = 0\nrule = "simple acceptance"',
            "a rule such as 'simple acceptance' is for average lines; this one is 'count'.",
        ),
        (
            SHARE + "plan_n = 5\nplan_k = 1\neach_sample = true",
            "each_sample is for average lines; this one is 'proportion'.",
        ),
        (
            SHARE + "plan_n = 5\nplan_k = 1\nlower = 60000",
            "a proportion line needs its lower limit below its upper one.",
        ),
    ],
)
def test_a_line_with_a_fault_is_refused_with_what_and_which_line(said, what):
    problem = refused(SMALLEST.replace("lower = 30000", said))

    assert what in problem.what
    assert problem.where == "specification of cayenne powder, line heat"


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


def test_a_line_may_be_decided_by_any_rule_or_plan():
    head = SMALLEST[: SMALLEST.index("lower = 30000")]
    limits = "lower = 30000\nupper = 60000.0\n"

    guarded, count, share = (
        catalogue.parse(head + said + limits).specifications[0].lines[0]
        for said in (
            'rule = "guarded rejection"\neach_sample = true\njurisdiction = "EU"\n',
            COUNT + "plan_n = 5\nplan_c = 0\n",
            SHARE + "plan_n = 3\nplan_k = 2\n",
        )
    )

    assert (guarded.rule, guarded.each_sample, guarded.jurisdiction) == (
        "guarded rejection",
        True,
        "EU",
    )
    assert (count.plan_n, count.plan_k, count.plan_c) == (5, None, 0)
    assert (share.plan_n, share.plan_k, share.plan_c) == (3, 2.0, None)


def test_a_line_that_says_nothing_of_them_is_decided_by_two_risks_on_its_average():
    (line,) = catalogue.parse(SMALLEST).specifications[0].lines

    assert (line.rule, line.each_sample, line.jurisdiction) == ("two risks", False, "")
    assert (line.plan_n, line.plan_k, line.plan_c) == (None, None, None)


def test_what_a_material_asks_of_its_results_becomes_part_of_its_specification():
    said = 'form = "powder"\ndue_days = 14\nvalid_days = 365\nplausible_moisture = [3, 15]'

    plain, asked = (
        catalogue.parse(text).specifications[0]
        for text in (SMALLEST, SMALLEST.replace('form = "powder"', said))
    )

    assert (plain.due_days, plain.valid_days) == (None, None)
    assert plain.plausible_moisture == MOISTURE_BY_FORM["powder"]
    assert (asked.due_days, asked.valid_days) == (14, 365)
    assert asked.plausible_moisture == (3.0, 15.0)


def test_every_flag_can_be_named_by_a_material():
    text = SMALLEST.replace('form = "powder"', f'form = "powder"\nhold_on = {list(NAMES)}')

    assert catalogue.parse(text).specifications[0].hold_on == NAMES


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
