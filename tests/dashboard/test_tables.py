"""Tables and plain values say what the store and the survey hold, and nothing is lost."""

import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

import demo_data
from dashboard.command import replies as command_replies
from dashboard.frame import stream_tables
from dashboard.frame.tables import calculation_table, held_table, lots_table
from dashboard.intake.tables.files import held_groups, preview_held, preview_table, receipts_seen
from dashboard.lots.tables import results_table
from dashboard.server import replies
from dashboard.today.tables import held_kinds
from dashboard.trends.tables import baselines_table, signals_in_words, stream_table, timeline_frames
from spc.answers.review import review_lots
from spc.charts import RULES
from spc.digits import THIN
from spc.store import Choice, StreamKey

HEAT = StreamKey(
    material="cayenne powder",
    supplier="North Fen Spices",
    characteristic="heat",
    method="rapid sensor",
)
DRY = StreamKey(
    material="cayenne powder",
    supplier="North Mill",
    characteristic="heat",
    method="rapid sensor",
    basis="dry",
)


@pytest.fixture(scope="module")
def drifting(demo_survey):
    """A stream of the demo that moved, and its signals."""
    signals = demo_survey.signals()
    points = demo_survey.of(HEAT)
    return points, signals[signals["stream"] == points["stream"].iloc[0]]


@pytest.fixture(scope="module")
def new_file():
    """A file of the sensor that the demo has not taken in."""
    file = Path(demo_data.__file__).parent / "new" / "2026-11-20_sensor.csv"
    return file.name, file.read_bytes()


def plain(told):
    """What a program reads back; refuses what JSON cannot say, such as NaN."""
    return json.loads(json.dumps(told, allow_nan=False, default=str))


# What programs get


def test_a_program_gets_every_row_that_was_received(receipt, demo_store):
    held = demo_store.held().head(2).assign(receipt="0a1b2c3d4e5f")
    taken = receipt(created_lots=("L-8", "L-9"))

    told = plain(replies.receipts_json([taken, taken], [], {"0a1b2c3d4e5f": held}))

    assert (told["rows"], told["stored"], told["held"], told["known"]) == (90, 86, 4, 0)
    assert told["created_lots"] == ["L-8", "L-9", "L-8", "L-9"]
    assert set(told["receipts"][0]["held_rows"][0]) == {
        *("source_row", "lot", "code", "reason", "remedy")
    }
    assert told["refused"] == []


def test_a_program_gets_a_refusal_with_its_reason():
    told = plain(replies.receipts_json([], [{"file": "a.csv", "reason": "no table"}], {}))

    assert told["rows"] == 0
    assert told["refused"] == [{"file": "a.csv", "reason": "no table"}]


def test_a_program_gets_every_waiting_lot_with_its_verdict(demo_store):
    waiting = demo_store.lots(waiting=True)

    told = plain(command_replies.review_json(review_lots(demo_store)))

    assert [one["lot"] for one in told] == waiting["lot"].tolist()
    assert [one["waiting_days"] for one in told] == sorted(
        (one["waiting_days"] for one in told), reverse=True
    )
    lines = [line for one in told for line in one["lines"]]
    assert {tuple(line["probability"]) for line in lines if line["outcome"] == "no result"} == {
        (None, None)
    }


def test_a_program_gets_every_signal_with_its_basis_and_rule(demo_survey):
    told = plain(command_replies.sweep_json(demo_survey))

    assert told["points"] == len(demo_survey.points)
    assert told["streams"] == demo_survey.points["stream"].nunique()
    assert len(told["signals"]) == int(demo_survey.marks.sum())
    for signal in told["signals"]:
        low, high = signal["usual"]
        assert low < high
        assert signal["sentence"] == RULES[signal["rule"]].sentence
        assert "basis" in signal


def test_a_store_without_results_is_swept_too(charted):
    survey = charted({"values": [4e4]})

    assert plain(command_replies.sweep_json(survey))["signals"] == []
    assert command_replies.signals_table(survey).columns.tolist() == [
        *("lot", "received", "material", "supplier", "what", "value", "signal")
    ]


# Tables of the command


def test_rows_in_are_rows_out_in_every_line(receipt):
    table = replies.receipts_table([receipt(), receipt(rows=3, stored=0, held=0, known=3)])

    assert table["rows"].tolist() == [45, 3]
    assert (table["rows"] == table["stored"] + table["held"] + table["known"]).all()


def test_signals_are_listed_newest_first(demo_survey):
    table = command_replies.signals_table(demo_survey)

    assert table["received"].is_monotonic_decreasing
    assert table["signal"].isin(list(RULES)).all()


# One stream


def test_a_stream_is_drawn_on_the_scale_it_is_judged_on(drifting):
    points, signals = drifting

    frame = stream_tables.stream_frame(points, signals, line=None, chosen="R26-0146")

    assert frame["order"].tolist() == list(range(1, len(points) + 1))
    assert (frame["lower"] < frame["center"]).all()
    assert (frame["center"] < frame["upper"]).all()
    np.testing.assert_allclose(frame["lower"] * frame["upper"], frame["center"] ** 2)
    np.testing.assert_allclose(frame["whisker_low"] * frame["whisker_high"], frame["value"] ** 2)
    assert frame.loc[frame["chosen"], "lot"].tolist() == ["R26-0146"]
    assert frame[["spec_lower", "spec_upper"]].isna().all(axis=None)


def test_the_brackets_are_those_of_the_specification(drifting, demo_store):
    points, signals = drifting
    versions = [
        one for one in demo_store.catalogue().specifications if one.material == HEAT.material
    ]
    line = next(one for one in versions[-1].lines if one.characteristic == "heat")

    frame = stream_tables.stream_frame(points, signals, line=line)

    assert set(frame["spec_lower"]) == {line.lower}
    assert set(frame["spec_upper"]) == {line.upper}


def test_a_signal_that_lasts_is_written_once_where_it_begins(charted):
    survey = charted({"values": [3.9e4, 4.1e4] * 6 + [6e4] * 3, "baseline": 12})

    frame = stream_tables.stream_frame(survey.points, survey.signals(), line=None)

    assert frame["signal"].tolist()[12] == "beyond limits"
    assert "beyond limits" not in frame["signal"].tolist()[13]


def test_censored_lots_are_marked_by_the_side_on_which_the_truth_lies(charted):
    survey = charted({"values": [3.9e4, 4.1e4, 4e4, 4.2e4], "censored": [0, 1, -1, 2]})

    frame = stream_tables.stream_frame(survey.points, survey.signals(), line=None)
    table = stream_table(survey.points, survey.signals())

    assert frame["censored"].tolist() == ["", "above", "below", "between"]
    assert table["value (SHU)"].tolist() == [
        *(f"about 42{THIN}000", f"below 40{THIN}000", f"above 41{THIN}000", f"39{THIN}000")
    ]


def test_the_lots_of_a_stream_are_listed_newest_first_with_their_signals(drifting):
    points, signals = drifting

    table = stream_table(points, signals)

    assert table["lot"].tolist() == points["lot"].tolist()[::-1]
    assert set(table.loc[table["signal"] != "", "lot"]) == set(signals["lot"])
    assert table["samples"].dtype.kind == "i"


def test_a_stream_without_a_signal_has_an_empty_table_of_them(charted):
    survey = charted({"values": [4e4]})

    table = signals_in_words(survey.signals())

    assert table.empty
    assert "source of the rule" in table.columns


def test_every_signal_is_explained_with_its_source(drifting):
    _, signals = drifting

    table = signals_in_words(signals)

    assert len(table) == len(signals)
    assert table["source of the rule"].ne("").all()


def test_an_odd_lot_number_leads_to_its_lot_and_nowhere_else(charted):
    survey = charted({"values": [4e4], "lot": "A&B 1/2?<i>"})

    (address,) = stream_tables.stream_frame(survey.points, survey.signals(), line=None)["href"]

    assert address == "/lot?lot=A%26B%201/2%3F%3Ci%3E"


def test_two_bases_of_one_characteristic_are_two_streams(charted):
    survey = charted(
        {"values": [4e4, 4.1e4], "supplier": "North Mill"},
        {"values": [4.4e4, 4.5e4, 4.6e4], "supplier": "North Mill", "basis": "dry", "days": 20},
    )
    as_is = StreamKey(
        **{name: getattr(DRY, name) for name in DRY.__dataclass_fields__ if name != "basis"}
    )

    frames = timeline_frames(survey, [as_is, DRY])

    assert [len(frame) for frame in frames.values()] == [2, 3]
    assert {len(frame) for frame in map(set, (f["until"] for f in frames.values()))} == {1}
    assert frames[as_is]["until"].iloc[0] == frames[DRY]["at"].iloc[-1]
    assert frames[DRY]["since"].iloc[0] == survey.points["received_at"].min()


def test_versions_of_a_baseline_say_who_left_out_what_and_why(small_store):
    choice = Choice(
        lots=("L-1", "L-2"),
        left_out={"L-3": "wet bags"},
        kind="prediction",
        rules=("beyond limits", "eight on one side"),
    )
    small_store.freeze_baseline(DRY, choice, by="Mara Quill", reason="first crop")

    (row,) = baselines_table(small_store.baselines(DRY)).to_dict("records")

    assert (row["version"], row["lots"]) == (1, 2)
    assert row["left out"] == "L-3 (wet bags)"
    assert row["judges from"] == "the first lot"
    assert row["limits by"] == "prediction (few lots)"
    assert row["rules"] == "beyond limits, eight on one side"
    assert (row["frozen by"], row["reason"]) == ("Mara Quill", "first crop")


# A lot


def test_every_reading_of_a_lot_is_listed_with_what_it_was_derived_from(demo_store):
    results = demo_store.results("R26-0140")

    table = results_table(results)

    assert len(table) == len(results)
    assert "absent in 25 g" in table["value"].tolist()
    heat = table[(table["characteristic"] == "heat") & (table["method"] == "rapid sensor")]
    assert heat["basis"].eq("as-is").all()
    assert heat["value"].str.endswith("SHU").all()
    assert heat["reading"].str.endswith("µmol/L").all()
    assert table["measured (UTC)"].str.fullmatch(r"(\d{4}-\d\d-\d\d \d\d:\d\d)?").all()


def test_a_lot_without_results_has_an_empty_table(small_store):
    table = results_table(small_store.results("L-1").head(0))

    assert table.empty
    assert "value" in table.columns


def test_a_calculation_is_shown_step_by_step_to_the_value_that_stands(demo_store):
    results = demo_store.results("R26-0140")
    one = results[results["method"] == "rapid sensor"].iloc[0]
    _, chain, _ = demo_store.calculation(one["result"])

    table = calculation_table(chain)

    assert table["step"].iloc[-1] == "heat"
    last = table["result"].iloc[-1]
    assert float(last.replace(THIN, "")) == pytest.approx(one["value_low"], rel=1e-5)
    assert table["unit"].iloc[-1] == "SHU"


def test_all_lots_are_listed_newest_first_with_their_weight(demo_store):
    lots = demo_store.lots()

    table = lots_table(lots)

    assert table["lot"].tolist() == lots["lot"].tolist()[::-1]
    priced = table["price per kg"].dropna()
    assert (priced > 0).all()
    assert table["kg"].dropna().gt(0).all()


def test_a_lot_without_a_price_has_none(small_store):
    table = lots_table(small_store.lots())

    assert table["price per kg"].isna().all()
    assert table["kg"].tolist() == [500.0, 1000.0]


# Intake


def test_a_preview_says_what_rows_would_become_and_what_would_be_held(demo_store, new_file):
    taken, fate = demo_store.preview(*new_file, by="preview")

    results, held = preview_table(fate.results), preview_held(fate.held)

    assert len(results) == taken.results
    assert results["value"].str.endswith("SHU").all()
    assert len(held) == taken.held == 2
    assert held.columns.tolist() == ["row", "lot", "reason", "what to do", "as it came"]
    assert held["what to do"].str.endswith(".").all()
    assert "R26-0142" in held["as it came"].iloc[0]


def test_every_held_row_is_in_one_group_with_what_to_do(demo_store):
    held = demo_store.held()

    groups, kinds = held_groups(held), held_kinds(held)

    assert groups["rows"].sum() == kinds["rows"].sum() == len(held)
    assert groups["rows"].is_monotonic_decreasing
    assert held["remedy"].ne("").all()
    assert len(held_table(held)) == len(held)


def test_nothing_held_makes_empty_tables(small_store):
    held = small_store.held()

    assert held.empty
    assert held_groups(held).empty
    assert held_kinds(held).empty
    assert held_table(held).columns.tolist() == [
        *("file", "row", "lot", "reason", "what to do", "as it came")
    ]


def test_received_files_are_listed_newest_first_and_add_up(demo_store):
    table = receipts_seen(demo_store.receipts())

    assert table["received (UTC)"].is_monotonic_decreasing
    assert (table["rows"] == table["stored"] + table["held"] + table["known"]).all()
    assert "catalogue" in table["read as"].tolist(), "a file without a profile is named by its kind"
    assert (table["still held"] <= table["held"]).all()
    assert pd.api.types.is_integer_dtype(table["rows"])
