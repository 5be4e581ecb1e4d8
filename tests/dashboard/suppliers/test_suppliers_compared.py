"""Suppliers held against each other: what is said, shown and drawn of a planted story."""

import json
import math
import re
from typing import Any, get_args

import numpy as np
import pytest
import vl_convert

from dashboard.frame.charts.spec import as_spec
from dashboard.suppliers.charts import COLUMNS, RowScale, rows_height, supplier_rows_chart
from dashboard.suppliers.tables import rows as tables_rows
from dashboard.suppliers.tables.comparison import (
    compare_table,
    pairs_table,
    patterns_table,
    suppliers_table,
)
from dashboard.suppliers.tables.files import beside, compare_json, suppliers_file
from dashboard.suppliers.tables.numbers import supplier_numbers
from dashboard.suppliers.words import certificates, comparison, method, questions
from tests.supplier_stories import compared, four_stories, supplier

PICTURES: dict[str, Any] = {
    "consistency": "share",
    "drift": "change",
    "belief": "change",
    "cost": "number",
    "level": "log",
}


@pytest.fixture(scope="module")
def stories():
    """One steady, one drifting with high certificates, one with uneven bags, one unknown."""
    return four_stories()


# What is said


def test_the_answer_names_who_is_consistent_drifts_is_believed_and_cheap(stories):
    said = comparison.answer(stories)

    assert said.startswith("Steady Mill is the most consistent (chance ")
    assert re.search(r"Drift Farm drifts, its crop 2026 lying \d+ % above the earlier ones", said)
    assert "samples of one lot differ by" in said
    assert "Certificates of Drift Farm read" in said
    assert "heat has cost least from Steady Mill, 0.07" in said
    assert said.count(". ") == 1, "two sentences"


def test_a_bias_is_told_with_its_interval_its_count_and_its_likely_cause(stories):
    said = questions.belief(stories)

    assert re.search(
        r"Certificates of Drift Farm read [\d.]+ % high \(\+.* to \+.*; 30 lots\)", said
    )
    assert "Likely cause: the other result is on dry basis" in said
    assert "check the basis that the certificate states" in said


def test_a_bias_that_nothing_known_explains_is_said_to_be_unexplained():
    said = questions.belief(compared(supplier("High", bias=0.3), supplier("True")))

    assert "No known factor or basis explains it." in said


def test_honest_certificates_are_not_accused(stories):
    assert "No bias shows for Bag Works and Steady Mill." in questions.belief(stories)


def test_the_bags_of_one_lot_are_told_apart_from_lots(stories):
    assert re.search(
        r"Samples of one lot differ by \d\d % at Bag Works, and by", questions.consistency(stories)
    )


def test_what_few_lots_cannot_say_is_said(stories):
    (reason,) = [one for one in stories.suppliers.reasons if "New Grower" in one]
    unsaid = " ".join(questions.unsaid_of("New Grower", stories))

    assert "New Grower has 2 lots; at least 3 are needed" in reason
    assert reason in unsaid
    assert "Drift: " in unsaid
    assert "Certificates: 2 of its lots can be compared; 3 are needed." in unsaid
    assert "nothing can be said" in questions.drift(stories)


def test_a_name_that_begins_another_does_not_take_its_reasons():
    shown = compared(supplier("North", 10), supplier("North Fen", 2), supplier("South", 10))

    assert not any("North Fen" in one for one in questions.unsaid_of("North", shown))


def test_suppliers_that_are_alike_are_not_ranked():
    shown = compared(*(supplier(f"Mill {sign}", 25) for sign in "ABCDE"))

    assert "obody stands out as most consistent" in comparison.answer(shown)
    assert "cannot be told apart" in questions.consistency(shown)


def test_one_supplier_alone_is_compared_with_nobody():
    shown = compared(supplier("Only Mill", 12))

    assert "too few lots to say who is consistent" in comparison.answer(shown).casefold()
    assert "Fewer than two suppliers" in questions.level(shown)
    assert pairs_table(shown).empty
    assert len(suppliers_table(shown)) == 1


def test_no_certificates_no_prices_and_no_crops_are_said_and_not_guessed():
    bare = supplier("Mill", 8).assign(declared=np.nan, price_per_kg=np.nan, crop_year=np.nan)

    shown = compared(bare, supplier("Other", 8).assign(declared=np.nan, price_per_kg=np.nan))

    assert questions.cost(shown) == "No lot with own heat has both a price and a quantity."
    assert "nothing can be said" in questions.belief(shown)
    assert "Drift: No lot has a crop year." in " ".join(questions.unsaid_of("Mill", shown))
    assert "what heat costs cannot be said" in comparison.answer(shown)


def test_prices_in_two_currencies_are_not_added_up():
    shown = compared(supplier("Mill"), supplier("Other").assign(currency="GBP"))

    assert "Prices are in EUR and GBP." in questions.cost(shown)


def test_lots_that_are_bounds_only_are_counted_and_their_price_is_said():
    said = comparison.left_out(compared(supplier("Mill"), supplier("Other"), left_out=7))

    assert "7 lots beside the 40 compared are known as a bound only" in said
    assert "miss the most extreme lots" in said
    assert comparison.left_out(compared(supplier("Mill"))) == ""


def test_the_how_states_the_error_of_what_was_drawn_and_the_common_factor(stories):
    said = " ".join(method.how(stories))

    assert re.search(
        r"drawn 20\s000 times with seed \d+, with a standard error of .+ % at most", said
    )
    assert "from its 16 to 16.1 SHU per mg/kg" in said
    assert "hold together at 95 %" in said


def test_on_linear_scale_changes_are_told_in_the_unit():
    wet = {"level": 9.0, "cv": 0.05, "step": 0.1}
    shown = compared(
        supplier("Dry", 15, **wet),
        supplier("Wet", 15, newest=5, rise=0.08, **wet),
        characteristic="moisture",
        unit="g/100 g",
        scale="linear",
        basis="",
    )

    assert re.search(r"lies [\d.]+ g/100 g above its earlier crops", questions.drift(shown))
    assert "within 0.9" in questions.belief(shown)
    assert questions.cost(shown) == "No own result of heat is known for this material."
    assert "g/100 g" in pairs_table(shown)["difference"][0]


# What is odd about certificates


def test_a_copied_value_is_told_with_its_test_and_its_likely_cause():
    shown = compared(supplier("Copier", 20).assign(declared=41_230.0), supplier("True", 20))

    said = " ".join(certificates.odd(shown))

    assert "Copier, repeated values: 19 of 20 declared values repeat an earlier one" in said
    assert "repeats among rounded normal values, simulated" in said
    assert f"Likely cause: {certificates.CAUSES['repeated values']}." in said
    assert "True" not in said


def test_coarse_rounding_is_called_coarse_and_not_dishonest():
    shown = compared(supplier("Rounder", 25, step=500.0), supplier("Fine", 25, step=1.0))

    (said,) = certificates.odd(shown)

    assert "Certificates of Rounder are mostly rounded to steps of 500 SHU." in said
    assert "coarse, not dishonest" in said
    patterns = patterns_table(shown).query("`stands out` != ''")
    assert set(patterns["stands out"]) == {"by rounding"}
    assert set(patterns["supplier"]) == {"Rounder"}


def test_certificates_that_stepped_are_told_from_which_lot_on():
    stepping = supplier("Stepper", 20)
    late = np.arange(20) >= 12
    stepping["declared"] = np.round(stepping["declared"] * np.where(late, 1.15, 1.0), -2)

    (said,) = [one for one in certificates.odd(compared(stepping)) if "stepped" in one]

    assert "Certificates of Stepper most likely stepped at lot Stepper-12" in said


def test_certificates_that_rose_lot_by_lot_are_not_told_as_a_step():
    rising = supplier("Riser", 24)
    rising["declared"] = np.round(rising["declared"] * 1.02 ** np.arange(24), -2)

    (said,) = [one for one in certificates.odd(compared(rising)) if "change point" in one]

    assert "Certificates of Riser most likely have drifted since lot Riser-" in said


def test_a_card_speaks_of_its_own_supplier_only():
    shown = compared(*(supplier(name, 25, step=500.0) for name in ("One", "Two", "Three")))

    assert "One, Three and Two" in certificates.odd(shown)[0]
    assert not re.search("Two|Three", certificates.odd(shown, only="One")[0])


# Tables and files


def test_the_numbers_are_the_numbers_of_the_core(stories):
    frame = supplier_numbers(stories).set_index("supplier")
    found = stories.suppliers
    at = found.supplier.index("Drift Farm")

    row = frame.loc["Drift Farm"]
    sigma = found.estimates.shrunken_standard_deviation[at]
    assert row["between_cv"] == pytest.approx(math.sqrt(math.expm1(sigma**2)))
    assert row["most_consistent"] == found.ranking.most_consistent[at]
    assert row["bias"] == pytest.approx(math.expm1(stories.belief["Drift Farm"].agreement.bias))
    assert row["crop_change"] == stories.drift["Drift Farm"].change
    cost = dict(
        zip(
            stories.cost_of_heat.by_supplier.supplier,
            stories.cost_of_heat.by_supplier.cost,
            strict=True,
        )
    )
    assert row["cost"] == cost["Drift Farm"]
    assert frame.loc["New Grower", ["mean", "between_cv", "most_consistent"]].isna().all()
    assert frame.loc["New Grower", "lots"] == 2


def test_pairs_say_different_or_equivalent_and_never_equal_for_lack_of_evidence():
    shown = compared(
        supplier("Low", 40, level=30e3, cv=0.05),
        supplier("Same", 40, level=40e3, cv=0.02),
        supplier("Twin", 40, level=40e3, cv=0.02),
        supplier("Few", 4, level=41e3, cv=0.3),
    )

    said = pairs_table(shown).set_index(["supplier", "against"])["they are"]
    assert said["Low", "Same"] == "different"
    assert said["Same", "Twin"] == "equivalent"
    assert said["Few", "Twin"] == "not to be told apart yet"


def test_programs_get_plain_values_and_null_where_nothing_is_known(stories):
    text = json.dumps(compare_json(stories), allow_nan=False)

    plain = json.loads(text)
    unknown = next(one for one in plain["suppliers"] if one["supplier"] == "New Grower")
    assert unknown["lots"] == 2
    assert unknown["mean"] is None
    assert plain["answer"] == comparison.answer(stories)


def test_every_number_is_saved_under_a_name_that_explains_itself(stories):
    saved = suppliers_file(stories)

    assert not [name for name in saved if re.fullmatch("[a-z]+(_[a-z]+)+", str(name))]
    assert "EUR per 1000 heat units" in saved
    sheets = beside(stories)
    assert list(sheets) == ["pairs", "patterns", "lots", "certificates"]
    assert len(sheets["lots"]) == len(sheets["certificates"]) == 92
    assert sheets["certificates"]["E_n"].notna().sum() == 90


def test_the_printed_table_fits_eighty_columns(stories):
    table = compare_table(stories)

    widths = [max(map(len, [str(name), *map(str, table[name])])) for name in table]
    assert sum(widths) + 2 * len(widths) <= 80


# Pictures


def rows_of(shown, name):
    return getattr(tables_rows, f"{name}_rows")(shown)


@pytest.mark.parametrize("name", PICTURES)
def test_every_supplier_has_a_row_and_a_count_even_where_nothing_can_be_said(stories, name):
    frame = rows_of(stories, name)
    rows = frame[frame["kind"] == "supplier"]

    assert tuple(frame.columns) == COLUMNS
    assert sorted(rows["row"]) == [0, 1, 2, 3]
    assert set(rows["supplier"]) == set(stories.suppliers.supplier)
    assert (rows["words"] != "").all()
    known = rows.dropna(subset=["value", "low"])
    assert ((known["low"] <= known["value"]) & (known["value"] <= known["high"])).all()


def test_rows_stand_in_the_order_of_their_question(stories):
    assert rows_of(stories, "consistency")["supplier"].iloc[0] == "Steady Mill"
    assert rows_of(stories, "drift")["supplier"].iloc[0] == "Drift Farm"
    assert rows_of(stories, "belief")["supplier"].iloc[0] == "Drift Farm"
    assert rows_of(stories, "cost")["supplier"].iloc[0] == "Steady Mill"


def test_what_the_words_name_is_marked_in_the_picture(stories):
    marked = {
        name: set(frame.loc[frame["told"], "supplier"])
        for name in ("consistency", "drift", "belief")
        if (frame := rows_of(stories, name)) is not None
    }

    assert marked == {
        "consistency": {"Bag Works"},
        "drift": {"Drift Farm"},
        "belief": {"Drift Farm"},
    }


def test_each_lot_of_the_newest_crop_is_drawn_against_the_earlier_ones(stories):
    frame = rows_of(stories, "drift")
    drawn = frame[(frame["kind"] == "lot") & (frame["supplier"] == "Drift Farm")]
    lots = stories.found.lots.query("supplier == 'Drift Farm'")
    old = np.log(lots.loc[lots["crop_year"] == 2025, "value"]).mean()

    assert len(drawn) == 9
    newest = lots[lots["crop_year"] == 2026].set_index("lot")["value"]
    for lot, value in zip(drawn["label"], drawn["value"], strict=True):
        assert value == pytest.approx(100.0 * (newest[lot] / math.exp(old) - 1.0))


def test_an_interval_far_longer_than_the_others_is_cut_and_marked():
    shown = compared(*(supplier(f"Mill {sign}", 30) for sign in "ABC"), supplier("Few", 3, cv=0.4))

    frame = rows_of(shown, "level").set_index("supplier")
    assert frame.loc["Few", "cut_high"]
    assert not frame.loc["Mill A", "cut_high"]
    assert np.isfinite(frame["high"]).all()


@pytest.mark.parametrize("scale", get_args(RowScale))
def test_the_chart_reads_the_one_frame_in_both_themes(scale):
    spec = as_spec(supplier_rows_chart(scale=scale, title="what, with its unit"))

    text = json.dumps(spec)
    assert {"data", "datasets", "$schema"}.isdisjoint(spec)
    assert set(re.findall(r'"field": "(\w+)"', text)) <= {*COLUMNS, "rows"}
    assert "luminance(background)" in text
    assert ('"datum": 0' in text) == (scale in ("difference", "change"))


@pytest.mark.parametrize("name", PICTURES)
def test_the_picture_can_be_drawn_with_its_frame(stories, name):
    frame = rows_of(stories, name)
    spec = as_spec(supplier_rows_chart(scale=PICTURES[name], title="heat, SHU"))
    rows = json.loads(frame.to_json(orient="records"))

    svg = vl_convert.vegalite_to_svg(
        {**spec, "data": {"values": rows}, "width": 380, "height": rows_height(4)}
    )

    for supplier_name in stories.suppliers.supplier:
        assert f">{supplier_name}<" in svg
    assert "heat, SHU" in svg
    assert "NaN" not in svg


def test_levels_are_tested_by_means_and_by_ranks():
    shown = compared(*(supplier(name, 12) for name in ("One", "Two", "Three")))

    said = questions.level(shown)

    tests = shown.suppliers.levels
    assert tests is not None
    assert "Welch's test" in said
    assert said.endswith(f"(Kruskal and Wallis's H = {tests.ranks.statistic:.2f}).")
