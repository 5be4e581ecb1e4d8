"""Which supplier is hotter, which is steadier, and what cannot be said yet."""

import dataclasses
import math
from decimal import Decimal

import numpy as np
import pandas as pd
import pytest
from scipy import stats

from spc.compare.between_suppliers.supplier_comparison import suppliers
from spc.errors import InvalidInput, NotPositive

LOTS = {"Alder": 40, "Birch": 12, "Cedar": 4, "Dogwood": 2, "Elm": 1, "Fir": 20}
HEAT = {"Alder": 40_000, "Birch": 41_000, "Cedar": 47_000, "Dogwood": 44_000, "Elm": 50_000}
SPREAD = {"Alder": 0.05, "Birch": 0.15, "Cedar": 0.1, "Dogwood": 0.1, "Elm": 0.1, "Fir": 0.06}


def deliveries(lots=LOTS, *, seed=7):
    """Habanero by six suppliers, in SHU."""
    generator = np.random.default_rng(seed)
    rows = [
        (name, HEAT.get(name, 33_000) * math.exp(SPREAD[name] * generator.normal()))
        for name, count in lots.items()
        for _ in range(count)
    ]
    return pd.DataFrame(rows, columns=["supplier", "value"])


def of(frame, name):
    return frame.loc[frame["supplier"] == name, "value"].to_numpy()


def arrays(result, prefix=""):
    """Every array of a result, by its path."""
    for field in dataclasses.fields(result):
        value = getattr(result, field.name)
        if dataclasses.is_dataclass(value):
            yield from arrays(value, f"{prefix}{field.name}.")
        elif isinstance(value, np.ndarray):
            yield f"{prefix}{field.name}", value


def levels(found):
    assert found.levels is not None
    return found.levels


def test_each_supplier_has_its_geometric_mean_and_student_s_interval():
    frame = deliveries()
    logs = np.log(of(frame, "Birch"))
    low, high = stats.t.interval(0.95, 11, logs.mean(), stats.sem(logs))

    found = suppliers(frame, scale="log")

    assert found.supplier == ("Alder", "Birch", "Cedar", "Dogwood", "Elm", "Fir")
    assert found.lots.tolist() == [40, 12, 4, 2, 1, 20]
    assert found.estimates.mean[1] == pytest.approx(math.exp(logs.mean()))
    assert found.intervals.mean[1] == pytest.approx([math.exp(low), math.exp(high)])
    assert found.estimates.cv[1] == pytest.approx(math.sqrt(math.expm1(logs.var(ddof=1))))
    assert found.estimates.standard_deviation[1] == pytest.approx(logs.std(ddof=1))


def test_on_linear_scale_everything_is_in_the_unit():
    frame = deliveries()
    value = of(frame, "Fir")

    found = suppliers(frame)

    assert found.estimates.mean[5] == pytest.approx(value.mean())
    assert found.estimates.standard_deviation[5] == pytest.approx(value.std(ddof=1))
    assert found.estimates.cv[5] == pytest.approx(value.std(ddof=1) / value.mean())
    assert found.pairs.difference[-1] == pytest.approx(of(frame, "Cedar").mean() - value.mean())


def test_suppliers_with_too_few_lots_are_listed_and_nothing_is_said_of_them():
    found = suppliers(deliveries(), scale="log", lower=30_000.0)

    assert found.enough.tolist() == [True, True, True, False, False, True]
    assert found.enough_for_consistency.tolist() == [True, True, False, False, False, True]
    for path, array in arrays(found):
        if path.startswith(("estimates", "intervals", "ranking")):
            assert np.isnan(array[3:5]).all(), path
            assert path.startswith("ranking.most") or np.isfinite(array[[0, 1, 2, 5]]).all(), path
    assert found.reasons == (
        "Cedar has 4 lots; its consistency is compared from 5 on.",
        "Dogwood has 2 lots; at least 3 are needed to say anything of it.",
        "Elm has 1 lot; at least 3 are needed to say anything of it.",
    )


def test_pairs_name_positions_among_all_suppliers_and_tell_ratios():
    frame = deliveries()
    cedar, fir = np.log(of(frame, "Cedar")), np.log(of(frame, "Fir"))

    found = suppliers(frame, scale="log", equivalence_margin=0.1).pairs

    assert found.first.tolist() == [0, 0, 0, 1, 1, 2]
    assert found.second.tolist() == [1, 2, 5, 2, 5, 5]
    assert found.difference[-1] == pytest.approx(math.exp(cedar.mean() - fir.mean()))
    assert (found.low < found.difference).all()
    assert (found.difference < found.high).all()
    assert found.verdict[-1] == "different"


def test_a_margin_of_a_tenth_on_log_scale_is_a_ratio_of_1_1():
    """Fifty lots 9 % apart are within a tenth; 11 % apart they are not."""
    spread = 0.001 * stats.norm.ppf((np.arange(50) + 0.5) / 50)

    def verdict(ratio):
        value = np.exp(np.concatenate((spread, spread + math.log(ratio))))
        frame = pd.DataFrame({"supplier": np.repeat(["a", "b"], 50), "value": value})
        return suppliers(frame, scale="log", equivalence_margin=0.1, draws=100).pairs.verdict[0]

    assert verdict(1.09) == verdict(1.0 / 1.09) == "different but within the margin"
    assert verdict(1.11) == verdict(1.0 / 1.11) == "different"
    assert verdict(1.0) == "equivalent"


def test_the_tests_are_those_of_scipy_among_suppliers_with_enough_lots():
    frame = deliveries()
    logs = [np.log(of(frame, name)) for name in ("Alder", "Birch", "Cedar", "Fir")]

    found = suppliers(frame, scale="log")

    welch = stats.f_oneway(*logs, equal_var=False)
    assert levels(found).welch.p_value == pytest.approx(welch.pvalue, rel=1e-9)
    assert levels(found).classic.statistic == pytest.approx(stats.f_oneway(*logs).statistic)
    assert not levels(found).balanced
    assert found.consistency is not None
    spread = stats.levene(logs[0], logs[1], logs[3], center="median")
    assert found.consistency.p_value == pytest.approx(spread.pvalue, rel=1e-9)


def test_few_lots_are_drawn_towards_the_others_further_than_many():
    found = suppliers(deliveries(), scale="log")

    own, drawn = np.log(found.estimates.mean), np.log(found.estimates.shrunken_mean)
    assert found.estimates.weight[[1, 2]].max() < found.estimates.weight[[0, 5]].min() < 1.0
    assert abs(own[2] - drawn[2]) > abs(own[0] - drawn[0])
    assert found.between_suppliers == pytest.approx(np.nanstd(own, ddof=1), rel=0.2)


def test_the_next_lot_of_the_steady_supplier_is_likelier_inside_and_it_is_ranked_first():
    found = suppliers(deliveries(), scale="log", lower=32_000.0, upper=50_000.0).ranking

    assert found.most_consistent[0] > 0.5 > found.most_consistent[1]
    assert np.nansum(found.most_consistent) == pytest.approx(1.0)
    assert found.inside[0] > 0.99
    assert found.inside[1] < 0.97
    assert (found.draws, found.seed) == (20_000, 1951)


def test_limits_on_log_scale_are_in_the_unit():
    frame = deliveries({"Alder": 40, "Fir": 40})
    logs = np.log(of(frame, "Alder"))
    t = (math.log(38_000.0) - logs.mean()) / (logs.std(ddof=1) * math.sqrt(1.0 + 1.0 / 40))

    found = suppliers(frame, scale="log", lower=38_000.0).ranking

    assert found.inside[0] == pytest.approx(stats.t.sf(t, 39), abs=4.0 * found.inside_error[0])


def test_a_lower_limit_of_zero_on_log_scale_asks_for_nothing():
    with_it = suppliers(deliveries(), scale="log", lower=0.0, upper=45_000.0)
    without = suppliers(deliveries(), scale="log", upper=45_000.0)

    assert with_it.ranking.inside[:3].tolist() == without.ranking.inside[:3].tolist()


@pytest.mark.parametrize("scale", ["linear", "log"])
def test_the_order_of_the_rows_does_not_matter(scale):
    frame = deliveries()
    settings = {"scale": scale, "lower": 35_000.0, "upper": 45_000.0, "equivalence_margin": 0.2}

    plain = suppliers(frame, **settings, draws=500)
    mixed = suppliers(frame.sample(frac=1.0, random_state=1), **settings, draws=500)

    for (path, one), (_, other) in zip(arrays(plain), arrays(mixed), strict=True):
        assert np.array_equal(one, other, equal_nan=True), path
    assert plain.levels == mixed.levels


@pytest.mark.parametrize("scale", ["linear", "log"])
def test_another_unit_changes_means_and_neither_chances_nor_verdicts(scale):
    """SHU to mg/kg: one factor for all."""
    frame = deliveries()
    smaller = frame.assign(value=frame["value"] / 16.0)
    margin = 0.2 if scale == "log" else 3_200.0

    plain = suppliers(frame, scale=scale, upper=44_800.0, equivalence_margin=margin)
    moved = suppliers(
        smaller,
        scale=scale,
        upper=2_800.0,
        equivalence_margin=margin if scale == "log" else margin / 16.0,
    )

    assert moved.estimates.mean == pytest.approx(plain.estimates.mean / 16.0, nan_ok=True)
    assert moved.estimates.cv == pytest.approx(plain.estimates.cv, nan_ok=True)
    assert moved.pairs.verdict == plain.pairs.verdict
    assert levels(moved).welch.p_value == pytest.approx(levels(plain).welch.p_value, rel=1e-8)
    assert moved.ranking.inside == pytest.approx(plain.ranking.inside, abs=1e-6, nan_ok=True)


def test_the_uncertainty_of_values_is_taken_out_of_the_spread_and_not_of_the_mean():
    frame = deliveries()
    logs = np.log(of(frame, "Birch"))

    found = suppliers(frame.assign(uncertainty=0.04), scale="log")
    without = suppliers(frame, scale="log")

    expected = math.sqrt(logs.var(ddof=1) - 0.04**2)
    assert found.estimates.standard_deviation[1] == pytest.approx(expected)
    assert found.intervals.mean[1] == pytest.approx(without.intervals.mean[1])
    assert found.estimates.shrunken_standard_deviation[1] == pytest.approx(
        math.sqrt(without.estimates.shrunken_standard_deviation[1] ** 2 - 0.04**2)
    )


def test_two_suppliers_are_told_as_they_are():
    found = suppliers(deliveries({"Alder": 9, "Cedar": 4}), scale="log")

    estimates, intervals = found.estimates, found.intervals
    assert estimates.shrunken_mean == pytest.approx(estimates.mean)
    assert intervals.shrunken_mean == pytest.approx(intervals.mean)
    assert estimates.shrunken_standard_deviation == pytest.approx(estimates.standard_deviation)
    assert intervals.shrunken_standard_deviation == pytest.approx(intervals.standard_deviation)
    assert math.isnan(found.between_suppliers)
    assert "neither is shrunken" in found.reasons[-1]


@pytest.mark.parametrize("lots", [{"Alder": 9, "Dogwood": 2}, {"Elm": 1}, {"Elm": 2, "Fir": 2}])
def test_fewer_than_two_suppliers_with_enough_lots_are_not_compared(lots):
    found = suppliers(deliveries(lots), scale="log", lower=30_000.0, equivalence_margin=0.1)

    assert found.levels is None
    assert found.consistency is None
    assert found.pairs.verdict == ()
    assert np.isnan(found.ranking.most_consistent).all()
    assert np.isfinite(found.estimates.mean).tolist() == found.enough.tolist()
    assert "none are compared" in found.reasons[-1]


def test_copied_values_are_pointed_out_and_kept_out_of_the_comparison():
    frame = pd.concat([deliveries(), pd.DataFrame({"supplier": "Gorse", "value": [40_000.0] * 6})])

    found = suppliers(frame, scale="log")

    assert not found.enough[-1]
    assert math.isnan(found.estimates.mean[-1])
    assert "All 6 lots of Gorse have one value, as if copied; nothing is said of it." in (
        found.reasons
    )
    plain = suppliers(deliveries(), scale="log")
    assert levels(found).welch.statistic == pytest.approx(levels(plain).welch.statistic, rel=1e-9)


def test_many_suppliers_of_few_lots_come_with_a_warning_about_the_joint_tests():
    generator = np.random.default_rng(1)

    def reasons(count, lots):
        name = np.repeat([f"supplier {at:02d}" for at in range(count)], lots)
        frame = pd.DataFrame({"supplier": name, "value": generator.normal(40.0, 2.0, name.size)})
        return suppliers(frame, draws=100).reasons

    assert "go by the simulated chance" in reasons(20, 5)[-1]
    assert reasons(20, 25) == ()
    assert reasons(4, 5) == ()


def test_decimals_give_what_their_doubles_give():
    frame = deliveries({"Alder": 6, "Birch": 5, "Fir": 8}).round({"value": 1})
    exact = frame.assign(value=[Decimal(str(value)) for value in frame["value"]])

    plain, found = suppliers(frame, draws=100), suppliers(exact, draws=100)

    assert found.estimates.mean == pytest.approx(plain.estimates.mean, rel=1e-12)
    assert levels(found).classic.statistic == pytest.approx(levels(plain).classic.statistic)


def test_a_missing_value_is_refused_by_supplier_and_position():
    frame = deliveries()
    frame.loc[41, "value"] = math.nan

    with pytest.raises(InvalidInput, match="value nan of Birch at position 41"):
        suppliers(frame)


def test_a_value_without_a_logarithm_is_refused_by_supplier_and_position():
    frame = deliveries()
    frame.loc[53, "value"] = -1.0

    with pytest.raises(NotPositive, match="suppliers, Cedar: value -1 at position 53"):
        suppliers(frame, scale="log")
    assert suppliers(frame, draws=100).lots[2] == 4


@pytest.mark.parametrize("name", [None, math.nan, "", "  "])
def test_a_lot_without_a_supplier_is_refused(name):
    frame = deliveries()
    frame.loc[3, "supplier"] = name

    with pytest.raises(InvalidInput, match="lot at position 3 has no supplier"):
        suppliers(frame)


def test_a_table_without_its_columns_or_rows_is_refused():
    with pytest.raises(InvalidInput, match="no column supplier and no column value"):
        suppliers(pd.DataFrame({"lot": [1]}))
    with pytest.raises(InvalidInput, match="no lots"):
        suppliers(deliveries().iloc[:0])


def test_a_column_of_words_is_refused():
    with pytest.raises(InvalidInput, match="column value holds something that is no number"):
        suppliers(deliveries().assign(value="hot"))


@pytest.mark.parametrize("uncertainty", [-0.1, math.nan, math.inf])
def test_an_impossible_uncertainty_is_refused(uncertainty):
    frame = deliveries().assign(uncertainty=0.1)
    frame.loc[2, "uncertainty"] = uncertainty

    with pytest.raises(InvalidInput, match="of Alder at position 2 is not possible"):
        suppliers(frame)


@pytest.mark.parametrize(
    ("settings", "message"),
    [
        ({"scale": "decibel"}, "scale 'decibel' is not known"),
        ({"lower": 5.0, "upper": 5.0}, "no lot lies between 5 and 5"),
        ({"lower": math.nan}, "no lot lies between nan and inf"),
        ({"scale": "log", "upper": 0.0}, "no lot lies between -inf and 0"),
        ({"equivalence_margin": 0.0}, "margin of 0 tells nothing apart"),
        ({"equivalence_margin": math.nan}, "margin of nan tells nothing apart"),
        ({"confidence": 1.0}, "confidence 1 is not between"),
        ({"draws": 99}, "99 draws give no odds"),
    ],
)
def test_a_question_without_an_answer_is_refused(settings, message):
    with pytest.raises(InvalidInput, match=message):
        suppliers(deliveries(), **settings)


def test_the_table_is_left_as_it_was():
    frame = deliveries()
    before = frame.copy(deep=True)

    suppliers(frame, scale="log", draws=100)

    pd.testing.assert_frame_equal(frame, before)
