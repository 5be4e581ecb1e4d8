import json
import math

import numpy as np
import pandas as pd
import pytest

from spc import heat
from spc.derivation import derive, ends_of, worked
from spc.errors import InvalidInput, MissingFactor, UnknownUnit

TOTAL = json.dumps({"total": 16.1})
EACH = json.dumps(dict(heat.PROFILE_FACTORS))


def result(reading=math.nan, unit="µmol/L", qualifier="", **other):
    return {
        "reading": reading,
        "qualifier": qualifier,
        "reading_unit": unit,
        "parts": "",
        "extract_volume_mL": 10.0,
        "extract_mass_g": 0.1,
        "cell_dilution": 10.0,
        "factors": TOTAL,
        "unit": "SHU",
        **other,
    }


def profile(unit="mg/g", **contents):
    parts = {compound: list(part) for compound, part in contents.items()}
    return result(unit=unit, parts=json.dumps(parts), factors=EACH)


MIXED = [
    result(8.5),
    result(5_000.0, unit="SHU", qualifier=">"),
    result(21.0, cell_dilution=1.0, extract_mass_g=0.2),
    profile(capsaicin=("", 1.5), dihydrocapsaicin=("", 1.0)),
    result(2.5, unit="mg/g"),
    result(0.5, qualifier="<", cell_dilution=1.0),
    result(35.0, qualifier=">"),
    result(9.4, unit="%", unit_of_value="g/100 g"),
    profile(capsaicin=("", 2.0), dihydrocapsaicin=("", 1.2), nordihydrocapsaicin=("<", 0.05)),
    result(850.0, unit="pungency units", factors=json.dumps({"total": 15.0})),
]
for row in MIXED:
    row["unit"] = row.pop("unit_of_value", row["unit"])


def test_rows_in_mixed_units_are_the_rows_one_by_one():
    frame = pd.DataFrame(MIXED, index=[f"row {n}" for n in range(len(MIXED))])

    together = derive(frame)

    alone = pd.concat([derive(frame.iloc[[n]]) for n in range(len(frame))])
    pd.testing.assert_frame_equal(together, alone)


def test_every_row_has_the_heat_of_its_own_chain():
    rows = [result(8.5), result(21.0, cell_dilution=1.0, extract_mass_g=0.2), result(34.0)]

    derived = derive(pd.DataFrame(rows))

    for row, (low, high) in zip(rows, derived.to_numpy(), strict=True):
        chain = heat.chain(
            row["reading"],
            unit="µmol/L",
            factor=16.1,
            cell_dilution=row["cell_dilution"],
            extract=(row["extract_volume_mL"], row["extract_mass_g"]),
        )
        assert low == high == float(chain.value)


def test_rows_keep_their_values_when_the_index_repeats():
    """A row of a file that brings two results gives both its number."""
    frame = pd.DataFrame([result(8.5), result(2.5, unit="mg/g")], index=[7, 7])

    derived = derive(frame)

    assert derived.index.tolist() == [7, 7]
    assert derived["value_low"].tolist() == pytest.approx([41_796.4533, 40_250.0])


def test_a_reading_below_quantification_lies_between_nothing_and_its_limit():
    derived = derive(pd.DataFrame([result(0.5, qualifier="<")]))

    assert derived["value_low"].tolist() == [0.0]
    assert derived["value_high"].tolist() == pytest.approx([0.5 * 41_796.4 / 8.5], rel=1e-5)


def test_a_reading_above_the_calibrated_range_has_no_upper_end():
    derived = derive(pd.DataFrame([result(35.0, qualifier=">")]))

    assert derived["value_low"].tolist() == pytest.approx([35.0 * 41_796.4 / 8.5], rel=1e-5)
    assert derived["value_high"].tolist() == [math.inf]


def test_one_compound_below_quantification_leaves_a_narrow_interval():
    row = profile(capsaicin=("", 2.0), dihydrocapsaicin=("", 1.0), nordihydrocapsaicin=("<", 0.05))

    derived = derive(pd.DataFrame([row]))

    assert derived["value_low"].tolist() == pytest.approx([16.1 * 3000.0])
    assert derived["value_high"].tolist() == pytest.approx([16.1 * 3000.0 + 9.3 * 50.0])


def test_laboratories_may_report_different_compounds_in_one_unit():
    """None may be dropped because another row of the same unit lacks it."""
    rows = [
        profile(capsaicin=("", 2.0), dihydrocapsaicin=("", 1.0)),
        profile(capsaicin=("", 2.0), dihydrocapsaicin=("", 1.0), nordihydrocapsaicin=("", 0.5)),
    ]

    derived = derive(pd.DataFrame(rows))

    assert derived["value_low"].tolist() == pytest.approx([48_300.0, 48_300.0 + 4_650.0])


@pytest.mark.parametrize(
    ("reading", "unit", "target", "value"),
    [
        (9.4, "%", "g/100 g", 9.4),
        (94.0, "g/kg", "g/100 g", 9.4),
        (4.0, "ppb", "µg/kg", 4.0),
        (1.0, "in 25 g", "in 25 g", 1.0),
        (2.5, "mg/g", "mg/kg", 2500.0),
    ],
)
def test_what_is_not_heat_is_only_converted(reading, unit, target, value):
    row = result(reading, unit=unit) | {"unit": target}

    derived = derive(pd.DataFrame([row]))

    assert derived.to_numpy().tolist() == pytest.approx(np.array([[value, value]]))
    assert float(worked(row).value[0]) == derived["value_low"].iloc[0]


@pytest.mark.parametrize(("unit", "factor"), [("mg/kg", 16.0), ("pungency units", 15.0)])
def test_a_method_without_its_own_factor_has_the_one_of_the_trade(unit, factor):
    row = result(1000.0, unit=unit, factors="{}")

    derived = derive(pd.DataFrame([row]))

    assert derived["value_low"].tolist() == [1000.0 * factor]


@pytest.mark.parametrize("row", MIXED, ids=lambda row: f"{row['qualifier']}{row['reading_unit']}")
def test_the_worked_calculation_ends_at_the_known_end_of_the_stored_value(row):
    low, high = derive(pd.DataFrame([row])).to_numpy()[0]

    value = float(np.squeeze(worked(row).value))

    assert value == (low if row["qualifier"] == ">" else high)


def test_the_worked_calculation_shows_a_plain_conversion():
    steps = worked(result(94.0, unit="g/kg") | {"unit": "g/100 g"}).steps

    assert [(step.name, step.formula) for step in steps] == [
        ("reading", "as the source gives it"),
        ("value", "× 0.1"),
    ]


def test_no_results_have_no_values():
    derived = derive(pd.DataFrame([result(1.0)]).iloc[:0])

    assert derived.empty
    assert derived.columns.tolist() == ["value_low", "value_high"]


def test_ends_of_a_reading_follow_its_qualifier():
    low, high = ends_of(np.array([1.0, 2.0, 3.0]), np.array(["", "<", ">"]))

    assert low.tolist() == [1.0, 0.0, 3.0]
    assert high.tolist() == [1.0, 2.0, math.inf]


class TestRefusals:
    @pytest.mark.parametrize("column", ["extract_volume_mL", "extract_mass_g", "cell_dilution"])
    def test_a_cell_reading_with_a_dilution_missing(self, column):
        frame = pd.DataFrame([result(8.5), result(8.5, **{column: math.nan})])

        with pytest.raises(MissingFactor):
            derive(frame)

    @pytest.mark.parametrize(("unit", "target"), [("SHU", "mg/kg"), ("bags", "SHU")])
    def test_a_unit_that_does_not_lead_to_the_value(self, unit, target):
        with pytest.raises(UnknownUnit):
            derive(pd.DataFrame([result(1.0, unit=unit) | {"unit": target}]))

    @pytest.mark.parametrize("compute", [worked, lambda row: derive(pd.DataFrame([row]))])
    def test_compounds_where_the_value_is_no_heat(self, compute):
        row = profile(capsaicin=("", 2.0)) | {"unit": "mg/kg"}

        with pytest.raises(UnknownUnit, match="heat of single compounds"):
            compute(row)

    def test_a_compound_without_a_factor(self):
        with pytest.raises(MissingFactor, match="nonivamide"):
            derive(pd.DataFrame([profile(nonivamide=("", 2.0))]))

    def test_parts_that_name_no_compound(self):
        with pytest.raises(InvalidInput, match="no compound"):
            derive(pd.DataFrame([profile()]))
