"""What is said, tabled and adopted of methods: pure, and tested like numbers."""

import math
from dataclasses import asdict, replace
from datetime import date

import numpy as np
import pandas as pd
import pytest

from dashboard.frame.charts.spec import as_spec
from dashboard.methods.charts.batches import batches_chart
from dashboard.methods.charts.consistency import consistency_chart
from dashboard.methods.charts.pairs import differences_chart, line_chart
from dashboard.methods.charts.spread_parts import spread_parts_chart
from dashboard.methods.tables.comparisons import differences_frame, line_frame
from dashboard.methods.tables.control_samples import batches_frame, batches_table, shared_axes
from dashboard.methods.tables.corrections import corrections_table
from dashboard.methods.tables.precision import (
    cells_table,
    consistency_frame,
    spread_frame,
    spread_table,
    study_table,
)
from dashboard.methods.tables.purchase import parts_table, purchase_table
from dashboard.methods.words import (
    comparisons,
    controls,
    corrections,
    precision,
    purchase,
    stated_figures,
)
from spc.answers import adoptions
from spc.answers.method_spread import READING
from spc.capability.intervals import Interval
from spc.compare.between_methods.control_sample import control_sample
from spc.compare.between_methods.corrections import correction
from spc.compare.between_methods.fitted_line import FittedLine
from spc.compare.between_methods.method_comparison import methods
from spc.compare.between_methods.warrants import warrant
from spc.compare.spread.cheapest_design import cheapest_design
from spc.compare.spread.purchase import next_purchase
from spc.compare.spread.sampling_spread import Prices, SamplingDesign, SamplingSpread
from spc.compare.spread.variance_components import components
from spc.compare.studies.method_figures import method_figures
from spc.compare.studies.precision_study import repeatability
from spc.compare.studies.study_cells import LeftOut
from spc.intake import Control
from spc.intake.catalogue import Catalogue, Characteristic, parse
from spc.intake.materials import Material
from spc.intake.methods import MeasuringMethod
from spc.store.lots.controls import ControlStream

SENSOR = MeasuringMethod(
    method="rapid sensor",
    characteristic="heat",
    standing="routine",
    standard_uncertainty=0.05,
    repeatability=0.05,
    reading_unit="µmol/L",
    screening=True,
    range_upper=35.0,
    factors={"total": 16.0},
)
KNOWN = Catalogue(
    materials=(Material(material="cayenne powder", form="powder"),),
    characteristics=(Characteristic(characteristic="heat", unit="SHU", scale="log"),),
    methods=(SENSOR,),
)
TODAY = date(2026, 11, 20)
LINE = FittedLine(
    slope=1.0,
    intercept=0.0,
    slope_interval=Interval(low=0.9, high=1.1),
    intercept_interval=Interval(low=-1.0, high=1.0),
)


def pairs(lots=30, *, ratio=0.92, scatter=0.03, seed=4):
    generator = np.random.default_rng(seed)
    x = np.exp(generator.uniform(np.log(2e4), np.log(6e4), lots))
    y = x * ratio * np.exp(scatter * generator.standard_normal(lots))
    return pd.DataFrame(
        {
            "lot": [f"L-{number}" for number in range(lots)],
            "material": "cayenne powder",
            "supplier": "North Mill",
            "received_at": pd.date_range("2026-01-05", periods=lots, freq="D"),
            "unit": "SHU",
            "scale": "log",
            "x": x,
            "y": y,
            "x_samples": 1.0,
            "y_samples": 5.0,
        }
    )


def by_ratio(frame):
    return methods(frame["x"], frame["y"], kind="differences", scale="log")


def jar(*, shift=-0.08, readings=12):
    values = np.exp(0.02 * np.random.default_rng(2).standard_normal((3, readings)))
    values[1] *= 1.0 + shift
    batches = ("S26-01", "S26-02", "S26-03")
    value = 40_000.0 * values.ravel()
    return ControlStream(
        control=Control(control="CS-40", characteristic="heat", assigned=40_000.0),
        method="rapid sensor",
        instrument="Reader A",
        unit="SHU",
        scale="log",
        batches=batches,
        readings=pd.DataFrame(
            {
                "sensor_batch": np.repeat(batches, readings),
                "measured_at": pd.date_range("2026-01-01", periods=value.size, freq="D"),
                "operator": "KB",
                "result": [str(number) for number in range(value.size)],
                "value": value,
            }
        ),
        judged=control_sample(value, [0, readings, 2 * readings], assigned=40_000.0, scale="log"),
    )


def drafted(every=(), *, figures=None, material="cayenne powder"):
    return adoptions.next_correction(
        figures or correction(by_ratio(pairs())),
        every,
        stated=SENSOR,
        against="liquid chromatography",
        lots=(material, ""),
        reason="reads low",
        effective_from=TODAY,
    )


def spread_of(sigma_bag=0.06, sigma_reading=0.05):
    generator = np.random.default_rng(9)
    lot, bag = np.repeat(np.arange(40), 12), np.tile(np.repeat(np.arange(4), 3), 40)
    value = (
        np.repeat(0.1 * generator.standard_normal(40), 12)
        + np.repeat(sigma_bag * generator.standard_normal(160), 3)
        + sigma_reading * generator.standard_normal(480)
    )
    return components(value, {"lot": lot, "bag": bag}, residual=READING)


def study(**options):
    """Three samples in five laboratories; the last one reads the hottest a fifth too high."""
    generator = np.random.default_rng(3)
    level = np.repeat(["hot", "mild", "warm"], 15)
    laboratory = np.tile(np.repeat([f"Laboratory {one}" for one in range(1, 6)], 3), 3)
    value = {"hot": 180_000.0, "mild": 9_000.0, "warm": 40_000.0}
    middle = np.array([value[one] for one in level])
    off = np.where((laboratory == "Laboratory 5") & (level == "hot"), 1.2, 1.0)
    readings = middle * off * (1.0 + 0.01 * generator.standard_normal(45))
    return repeatability(readings, laboratory, level, **options)


def test_a_method_that_reads_low_is_told_with_its_interval_and_the_reach_of_single_lots():
    found = by_ratio(pairs())
    said = comparisons.comparison(
        found, method="rapid sensor", against="chromatography", of="of cayenne", unit="SHU"
    )

    assert said.startswith("On 30 lots of cayenne, rapid sensor reads −8.")
    assert "95 % interval −8.9 % to −7.2 %" in said
    assert "95 of 100 single lots lie between −1" in said
    assert "No proportional bias is seen" in comparisons.proportional(found, unit="SHU")


def test_a_bias_is_worth_correcting_only_where_it_is_told_from_none_and_matters():
    stated = SENSOR.as_method()
    clear = warrant(correction(by_ratio(pairs())), stated)
    hidden = warrant(correction(by_ratio(pairs()), reference_uncertainty=0.08), stated)
    small = warrant(correction(by_ratio(pairs(ratio=0.99, scatter=0.005))), stated)

    assert corrections.warrant(clear, unit="SHU").startswith("Worth correcting:")
    assert "cannot be told from none" in corrections.warrant(hidden, unit="SHU")
    assert "too small to matter" in corrections.warrant(small, unit="SHU")


def test_an_adopted_correction_comes_back_from_its_text_as_it_was():
    draft = drafted()
    (back,) = parse(adoptions.correction_text(draft), known=KNOWN).corrections

    assert back == draft
    assert back.version == 1
    found = asdict(correction(by_ratio(pairs())))
    assert {name: getattr(back, name) for name in found} == found


def test_versions_count_for_each_kind_of_lot_and_a_withdrawal_is_the_next_one():
    first = drafted()
    second = drafted([first], figures=adoptions.NO_CORRECTION)
    other = drafted([first, second], material="")

    assert (second.version, other.version) == (2, 1)
    assert adoptions.corrections_in_force([first], today=TODAY) == [first]
    assert adoptions.corrections_in_force([first, second], today=TODAY) == []
    assert parse(adoptions.correction_text(second), known=KNOWN).corrections == (second,)
    table = corrections_table([second, first], unit="SHU")
    assert table["kind"].tolist() == ["withdrawn", "ratio"]
    assert table["for"].tolist() == ["cayenne powder"] * 2


def test_a_changed_method_comes_back_from_its_text_with_its_reason():
    changed = replace(SENSOR, repeatability=0.043)
    text = adoptions.method_text(changed, version=2, signed=("Mara Quill", "routine of\n2026"))

    assert parse(text, known=KNOWN).methods == (changed,)
    assert adoptions.reason_of(text) == "routine of 2026"
    assert adoptions.reason_of("[[method]]\n") == ""
    assert "repeatability from 5.0 % to 4.3 %" in stated_figures.changed_figures(SENSOR, changed)


def test_a_batch_that_reads_low_is_named_first_and_drawn_apart():
    stream = jar()
    frame = batches_frame(stream, shared_axes([stream]))

    assert "off by more than chance explains: S26-02 −8" in controls.control(stream)
    assert controls.watched([stream]) == "Off by its control sample: S26-02 on Reader A."
    assert controls.batches_by_concern([stream])[0][1] == "S26-02"
    assert frame["off"].tolist() == [False, True, False]
    assert batches_table([stream]).set_index("sensor batch")["off"]["S26-02"] == "yes"


def test_nothing_is_said_of_a_batch_read_too_seldom():
    stream = replace(jar(), judged=None)

    assert "nothing can be said" in controls.control(stream)
    assert batches_frame(stream, shared_axes([stream])).empty


def test_the_picture_of_differences_holds_every_lot_the_bias_and_both_limits():
    frame, names = pairs(), ("rapid sensor", "chromatography")
    drawn = differences_frame(frame, by_ratio(frame), names)

    assert drawn["part"].value_counts().to_dict() == {"lot": 30, "limit": 4, "bias": 2}
    lots = drawn[drawn["part"] == "lot"]
    assert lots["y"].to_numpy() == pytest.approx((frame["y"] / frame["x"] - 1.0).to_numpy())


def test_a_line_on_log_axes_leaves_out_what_lies_below_zero():
    frame = pairs()
    found = replace(
        methods(frame["x"], frame["y"], kind="passing-bablok"),
        line=replace(LINE, intercept=-30_000.0),
    )
    drawn = line_frame(frame, found, ("a", "b"), log=True)

    fitted = drawn.loc[drawn["part"] == "fit", "y"]
    assert 0 < len(fitted) < 60
    assert fitted.min() > 0.0


def test_a_repeatability_outside_its_interval_is_said_to_differ():
    found = spread_of()

    assert not precision.differs(found, 0.05)
    assert precision.differs(found, 0.03)
    said = precision.against_stated(found, 0.03, log=True, unit="SHU")
    assert said == "Stated is 3.0 %: what is found is larger, by more than chance explains."
    assert "most of the variance" in precision.spread(found, of="of x", log=True, unit="SHU")
    frame = spread_frame(found, stated_sd=0.03, log=True, unit="SHU")
    assert frame["level"].tolist() == ["lot", "bag", "reading"]
    assert frame["stated"].notna().tolist() == [False, False, True]


def test_a_level_that_cannot_be_told_says_why_instead_of_a_number():
    value = np.random.default_rng(1).standard_normal(20)
    found = components(value, {"lot": np.arange(20), "bag": np.zeros(20)}, residual=READING)

    assert spread_table(found, log=True, unit="SHU")["standard deviation"][0] == "–"
    assert precision.between(found, "lot", log=True, unit="SHU").startswith("cannot be said")


def test_a_laboratory_that_stands_out_is_named_with_its_test_and_stays_in():
    found = study()

    (said,) = [one for one in precision.suspects(found) if "Grubbs 1" in one]
    assert said.startswith("Laboratory 5 lies away from the others at hot: outlier (Grubbs 1.")
    frame = consistency_frame(found, signed=True)
    assert frame.loc[frame["beyond"], ["laboratory", "level"]].to_numpy().tolist() == [
        ["Laboratory 5", "hot"]
    ]
    assert study_table(found, unit="SHU")["sample"].tolist() == [
        "mild",
        "warm",
        "hot",
    ]
    assert len(cells_table(found, unit="SHU")) == 15


def test_a_laboratory_left_out_stays_on_the_screen_with_its_reason():
    found = study(left_out=[LeftOut(laboratory="Laboratory 5", reason="column was changed")])

    assert precision.left_out(found) == ["Left out: Laboratory 5 (column was changed)."]
    assert len(cells_table(found, unit="SHU")["laboratory"].unique()) >= 4


def test_a_study_becomes_the_figures_of_a_method_in_the_way_it_states_them():
    figures = method_figures(study(), kind="share")
    changed = adoptions.with_precision(SENSOR, figures)

    assert changed.repeatability == pytest.approx(figures.repeatability, rel=5e-3)
    assert changed.standard_uncertainty == pytest.approx(figures.standard_uncertainty, rel=5e-3)
    assert "repeatability is 1." in precision.figures_of_study(figures)


@pytest.mark.parametrize(
    ("kind", "log", "size"),
    [("relative", True, 0.05), ("relative", False, 0.005), ("absolute", False, 0.05)],
)
def test_a_spread_found_is_turned_into_the_figure_that_a_method_states(kind, log, size):
    stated = replace(SENSOR, uncertainty_kind=kind)

    assert adoptions.as_stated_figure(0.05, stated, log=log, level=10.0) == pytest.approx(size)


def test_the_next_euro_goes_where_it_takes_most_off_and_the_table_says_so_first():
    spread = SamplingSpread(bag=0.06, test=0.05, method=0.02)
    prices = Prices(bag=4.0, test=9.0, laboratory=60.0)
    found = next_purchase(spread, prices, SamplingDesign(bags=5, tests=1))

    assert "The next euro buys most with one more bag" in purchase.purchase(
        found, log=True, unit="SHU"
    )
    table = purchase_table(found, log=True, unit="SHU")
    assert table["buys"][0] == "one more bag"
    parts = parts_table(found, log=True, unit="SHU")
    assert parts["from"].tolist() == ["bag", "test", "laboratory", "method"]
    assert math.isclose(found.parts.sum(), found.uncertainty**2)


def test_an_uncertainty_below_the_methods_own_is_refused_with_the_reason():
    spread = SamplingSpread(bag=0.06, test=0.05, method=0.05)
    prices = Prices(bag=4.0, test=9.0)
    never = cheapest_design(spread, prices, wanted=0.04)
    soon = cheapest_design(spread, prices, wanted=0.06)

    assert "cannot be reached: the method's own" in purchase.cheapest(
        never, 0.04, log=True, unit="SHU"
    )
    assert "is reached most cheaply with" in purchase.cheapest(soon, 0.06, log=True, unit="SHU")


@pytest.mark.parametrize(
    "chart",
    [
        batches_chart(share=True),
        batches_chart(share=False),
        line_chart(log=True),
        differences_chart(log=False),
        spread_parts_chart(share=True),
        consistency_chart(signed=True),
        consistency_chart(signed=False),
    ],
)
def test_a_figure_is_a_spec_without_data_that_one_frame_feeds(chart):
    spec = as_spec(chart)

    assert "data" not in spec
    assert all("data" not in layer for layer in spec["layer"])
