"""What a screen says: true, countable, and no more than the numbers allow."""

from collections.abc import Hashable
from dataclasses import asdict
from datetime import date

import numpy as np
import pandas as pd
import pytest

from dashboard.frame import stream_words
from dashboard.frame import words as plain
from dashboard.frame.words import code, crop, day, interval, origin, specification
from dashboard.intake.words import files
from dashboard.lots import words as lots_words
from dashboard.today import words
from dashboard.trends import words as trends_words
from spc.charts import DEFAULT_RULES, price
from spc.digits import THIN
from spc.store import StreamKey

HEAT = StreamKey(
    material="cayenne powder", supplier="North Mill", characteristic="heat", method="rapid sensor"
)
NOTHING_WAITS = pd.DataFrame({"received_at": pd.to_datetime([]), "decision": []})


def waiting(*decisions):
    return pd.DataFrame(
        {
            "received_at": pd.date_range("2026-11-03", periods=len(decisions), freq="2D"),
            "decision": list(decisions),
        }
    )


def told(survey, **choices):
    return stream_words.trend(survey.points, survey.signals(), **{"frozen": False, **choices})


def zigzag(count, low=39_000.0, high=41_000.0):
    return [low, high] * (count // 2)


# Single words and numbers


@pytest.mark.parametrize(
    ("number", "noun", "plural", "said"),
    [
        (0, "lot", "", "0 lots"),
        (1, "lot", "", "1 lot"),
        (3, "lot", "", "3 lots"),
        (1, "delivery", "deliveries", "1 delivery"),
        (2, "delivery", "deliveries", "2 deliveries"),
    ],
)
def test_one_is_one_and_all_else_are_many(number, noun, plural, said):
    assert plain.count(number, noun, plural) == said


def test_a_date_is_written_so_that_no_country_misreads_it():
    assert day(date(2026, 11, 3)) == "3 November 2026"
    assert day(pd.Timestamp("2026-03-12 23:59")) == "12 March 2026"


def test_a_crop_that_is_not_known_is_not_named():
    assert crop(2026.0) == "crop 2026"
    assert crop(float("nan")) == ""


def test_a_hold_is_called_by_what_is_wrong_and_a_new_code_can_still_be_read():
    assert code("implausible-dilution") == "a dilution that cannot be right"
    assert code("unheard-of-thing") == "unheard of thing"


@pytest.mark.parametrize(("basis", "end"), [("as-is", ""), ("", ""), ("dry", ", dry")])
def test_a_stream_names_its_basis_where_it_is_not_the_usual_one(basis, end):
    key = StreamKey(**{**asdict(HEAT), "basis": basis})

    assert (
        trends_words.stream_name(key)
        == f"cayenne powder from North Mill: heat by rapid sensor{end}"
    )


@pytest.mark.parametrize(
    ("low", "high", "unit", "said"),
    [
        (41_812.0, 41_812.0, "SHU", f"41{THIN}800 SHU"),
        (45_000.0, np.inf, "SHU", f"above 45{THIN}000 SHU"),
        (0.0, 0.5, "µg/kg", "below 0.500 µg/kg"),
        (1_700.0, 1_900.0, "SHU", f"1{THIN}700 to 1{THIN}900 SHU"),
        (0.0, 0.0, "in 25 g", "absent in 25 g"),
        (1.0, 1.0, "in 25 g", "detected in 25 g"),
    ],
)
def test_a_reading_is_no_more_exact_than_it_was(low, high, unit, said):
    assert interval(low, high, unit) == said


# What waits


def test_a_morning_on_which_nothing_waits_is_told_as_such():
    said = words.today(NOTHING_WAITS, {}, held=0, moved=0)

    assert said == (
        "No lot waits for a decision. No stream of the last 30 days is unusual for its supplier."
        " No row is held."
    )


def test_one_of_everything_is_told_in_the_singular(judged):
    said = words.today(waiting(""), {"L-1": judged("accept", "conforming")}, held=1, moved=1)

    assert said == (
        "1 lot waits for a decision, the oldest since 3 November 2026: 1 may be accepted."
        " 1 stream of the last 30 days is unusual for its supplier."
        " 1 row of received files is held."
    )


def test_waiting_lots_are_divided_by_what_can_be_done_about_them(judged):
    verdicts = {
        "L-1": judged("reject", "not conforming"),
        "L-2": judged("hold", "undecided"),
        "L-3": judged("hold", "conforming", "no result"),
        "L-4": judged("hold", "no result"),
        "L-5": judged("accept", "conforming"),
    }

    said = words.today(waiting("on hold", "", "on hold", "", ""), verdicts, held=4, moved=2)

    assert (
        "5 lots wait for a decision, the oldest since 3 November 2026: 1 should be rejected,"
        " 1 cannot be settled on the evidence there is, 2 still lack a result and 1 may be"
        " accepted. 2 of them are on hold by a decision." in said
    )
    assert "2 streams of the last 30 days are unusual for their supplier." in said
    assert "4 rows of received files are held." in said


def test_a_single_lot_on_hold_and_one_without_a_result_are_singular(judged):
    verdicts = {"L-1": judged("hold", "no result"), "L-2": judged("accept", "conforming")}

    said = words.today(waiting("on hold", ""), verdicts, held=0, moved=0)

    assert "1 still lacks a result and 1 may be accepted. 1 of them is on hold" in said


def test_decided_and_waiting_lots_add_up_to_all_lots(demo_store):
    every, open_ = demo_store.lots(), demo_store.lots(waiting=True)

    assert "on hold" in set(open_["decision"]), "a lot on hold waits too, and counts once"
    assert lots_words.lots(every, open_) == "397 lots: 380 decided, 17 waiting for a decision."


# What a stream shows


def test_a_supplier_within_what_is_usual_is_said_to_be_so_with_what_that_rests_on(charted):
    survey = charted({"values": zigzag(12)})

    said = told(survey)

    assert said.startswith("The newest lot, L-12, is within what is usual. Usual for this supplier")
    assert f"is 35{THIN}" in said
    assert said.endswith("SHU, by a provisional baseline of 12 lots.")


def test_a_baseline_that_a_person_froze_is_no_longer_called_provisional(charted):
    said = told(charted({"values": zigzag(12)}), frozen=True)

    assert "by the frozen baseline of 12 lots" in said
    assert "provisional" not in said


def test_a_lot_far_out_is_called_unusual_by_the_rules_that_say_so(charted):
    survey = charted({"values": [*zigzag(12), 60_000.0], "baseline": 12})

    assert told(survey).startswith("The newest lot, L-13, is unusual: beyond limits.")


def test_the_lot_that_is_looked_at_is_told_of_and_not_the_newest(charted):
    survey = charted({"values": [*zigzag(12), 60_000.0], "baseline": 12})

    assert told(survey, chosen="L-03").startswith("Lot L-03 is within what is usual.")
    assert told(survey, chosen="L-13").startswith("Lot L-13 is unusual: beyond limits.")


def test_a_lot_that_was_not_judged_is_not_called_usual(charted):
    survey = charted({"values": [*zigzag(12), 40_000.0], "censored": [0] * 12 + [1]})

    said = told(survey)

    assert said.startswith("The newest lot, L-13, is not judged: its value is known as a bound")
    assert "within what is usual" not in said


def test_a_bound_beyond_the_limit_is_judged_all_the_same(charted):
    survey = charted({"values": [*zigzag(12), 60_000.0], "censored": [0] * 12 + [1]})

    assert told(survey).startswith("The newest lot, L-13, is unusual: beyond limits.")


@pytest.mark.parametrize(("values", "said"), [([4e4], "1 lot so far"), ([4e4] * 9, "9 lots so")])
def test_without_limits_nothing_is_called_usual(charted, values, said):
    text = told(charted({"values": values}))

    assert text.startswith(said)
    assert "too few, or too alike, to say what is usual" in text
    assert "within what is usual" not in text


def test_a_drift_of_the_demo_is_told_with_the_lot_where_it_began(demo_survey):
    key = StreamKey(**{**asdict(HEAT), "supplier": "North Fen Spices"})

    said = stream_words.trend(demo_survey.of(key), demo_survey.signals(), frozen=False)

    assert said.startswith("The newest lot, R26-0146, is unusual: ")
    assert "Most likely the level stepped at R26-" in said


# When a supplier moved


def test_a_step_is_named_by_its_lot_and_both_levels(charted):
    survey = charted({"values": [*zigzag(10), *zigzag(10, 58_000.0, 62_000.0)]})

    said = stream_words.changed(survey.points)

    assert said == (f"Most likely the level stepped at L-11, from 40{THIN}000 to 60{THIN}000 SHU.")


def test_a_step_in_much_noise_is_given_with_the_lots_between_which_it_was(charted, steady):
    values = [*steady(10), *steady(10, level=47_000.0, seed=6)]

    said = stream_words.changed(charted({"values": values}).points)

    assert "(90 % sure it was between L-" in said


@pytest.mark.parametrize(
    ("values", "censored"),
    [
        (zigzag(20), []),
        ([4e4] * 20, []),
        (zigzag(2), []),
        ([*zigzag(2), *[9e4] * 8], [0, 0, *[1] * 8]),
    ],
    ids=["steady", "all equal", "few lots", "few exact lots"],
)
def test_no_step_is_told_where_nothing_says_that_there_was_one(charted, values, censored):
    points = charted({"values": values, "censored": censored}).points

    assert stream_words.changed(points) == ""


def test_a_step_on_a_linear_scale_is_told_in_the_unit(charted):
    moisture = {"scale": "linear", "unit": "g/100 g", "characteristic": "moisture"}
    points = charted({"values": [*zigzag(10, 7.9, 8.1), *zigzag(10, 9.9, 10.1)], **moisture}).points

    assert stream_words.changed(points).endswith("from 8.00 to 10.0 g/100 g.")


# Before a baseline is frozen


def test_nothing_is_suggested_where_nothing_stands_out(charted, steady):
    points = charted({"values": steady(30, seed=6)}).points

    assert trends_words.suggested(points) == ["Nothing stands out in these lots."]


def test_a_lot_far_from_the_others_is_named(charted, steady):
    values = [*steady(15), 90_000.0, *steady(9, seed=8)]

    said = trends_words.suggested(charted({"values": values}).points)

    assert "Far from the others: L-16." in said


def test_few_lots_do_not_choose_a_scale(charted, steady):
    said = trends_words.suggested(charted({"values": steady(9, seed=11)}).points)

    assert "Too few lots to say whether a linear or a log scale fits better." in said


def test_the_scale_that_fits_the_shape_is_told(charted):
    skewed = [float(one) for one in np.exp(np.random.default_rng(3).normal(3.0, 0.9, 40))]

    said = trends_words.suggested(charted({"values": skewed, "scale": "linear"}).points)

    assert "The log scale fits the shape of these lots better." in said


def test_lots_that_resemble_the_one_before_make_limits_tight(charted):
    generator = np.random.default_rng(2)
    level, logs = 0.0, []
    for noise in generator.normal(0.0, 0.05, 40):
        level = 0.8 * level + noise
        logs.append(level)

    said = trends_words.suggested(charted({"values": list(4e4 * np.exp(logs))}).points)

    assert any(one.startswith("Lots resemble the one before (correlation 0.") for one in said)


def test_a_baseline_across_a_step_is_warned_of(charted):
    points = charted({"values": [*zigzag(10), *zigzag(10, 58_000.0, 62_000.0)]}).points

    assert stream_words.changed(points) in trends_words.suggested(points)


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (zigzag(4), "No suggestion: needs at least 8 lots, but 4 were given."),
        ([4e4] * 9, "No suggestion: all 9 values are 40000, so they show no spread"),
    ],
)
def test_what_cannot_be_looked_at_is_refused_in_a_sentence(charted, values, said):
    (only,) = trends_words.suggested(charted({"values": values}).points)

    assert only.startswith(said)


def test_a_value_without_a_logarithm_is_refused_in_a_sentence(charted):
    points = charted({"values": zigzag(10), "scale": "linear"}).points
    points = points.assign(scale="log", value=points["value"] - points["value"].min())

    assert trends_words.suggested(points)[0].startswith(
        "No suggestion: value 0 at position 0 has no log"
    )


def test_lots_known_as_bounds_only_suggest_nothing(charted):
    points = charted({"values": zigzag(10), "censored": [1] * 10}).points

    assert trends_words.suggested(points)[0].startswith("No suggestion: needs at least 8 lots")


# What the rules cost


def test_an_exact_price_is_told_without_about():
    said = trends_words.priced(price(("beyond limits",), lots_per_month=2.0))

    assert said == (
        "With these rules and your 2 lots a month, expect one false alarm in 370 lots (185"
        " months); a supplier who moves by one sigma is noticed after 44 lots."
    )


def test_a_simulated_price_is_told_with_about():
    said = trends_words.priced(price(DEFAULT_RULES, lots_per_month=2.5))

    assert "your 2.5 lots a month, expect one false alarm in about 8" in said
    assert "is noticed after about 10 lots." in said


def test_one_lot_a_month_is_one_lot():
    assert "your 1 lot a month" in trends_words.priced(
        price(("beyond limits",), lots_per_month=1.0)
    )


@pytest.mark.parametrize("name", ["moving range", "standard deviation", "prediction", "guaranteed"])
def test_a_kind_of_limits_is_told_by_its_name(name):
    assert name in trends_words.kind(name)


def test_every_view_but_the_plain_one_is_explained_with_its_source():
    unexplained = [view for view, said in trends_words.VIEW_SENTENCES.items() if not said]

    assert unexplained == ["lot values"]
    assert all("(" in said for said in trends_words.VIEW_SENTENCES.values() if said)


# Signals and what was found out


def test_the_rules_of_a_lot_stand_together_newest_lot_first(charted):
    survey = charted({"values": [*zigzag(12), 60_000.0, 61_000.0, 62_000.0], "baseline": 12})

    rules = trends_words.rules_by_lot(survey.signals())

    assert list(rules) == ["L-15", "L-14", "L-13"]
    assert trends_words.signalled(rules, "L-13") == "L-13: beyond limits"
    assert trends_words.signalled(rules, "L-15").startswith(
        "L-15: beyond limits, two of three far out"
    )


def test_an_open_investigation_is_chosen_by_its_lot_and_cause():
    frame = pd.DataFrame({"lot": ["L-13"], "cause": ["new mill screen"]})

    assert trends_words.opened(frame) == ["L-13: new mill screen"]


# Files


def test_rows_in_are_stored_and_held_and_known(receipt):
    said = files.receipt(receipt(rows=45, stored=40, held=2, known=3, results=61))

    assert said == "march.csv: 45 rows = 40 stored + 2 held + 3 known (61 results)."


def test_new_lots_of_a_file_are_counted(receipt):
    assert "(60 results, 1 new lot)" in files.receipt(receipt(created_lots=("L-9",)))
    assert "(60 results, 2 new lots)" in files.receipt(receipt(created_lots=("L-8", "L-9")))


def test_one_row_with_one_result_is_singular(receipt):
    said = files.receipt(receipt(rows=1, stored=1, held=0, results=1))

    assert said == "march.csv: 1 row = 1 stored + 0 held + 0 known (1 result)."


@pytest.mark.parametrize(("rows", "said"), [(45, "45 rows known."), (1, "1 row known.")])
def test_a_file_that_came_before_changes_nothing(receipt, rows, said):
    text = files.receipt(receipt(rows=rows, stored=0, held=0, known=rows, again=True))

    assert text == f"march.csv was received before, and nothing changed: {said}"


def test_rows_that_waited_are_all_accounted_for(receipt):
    said = files.checked_again(receipt(rows=3, stored=1, known=1, held=1))

    assert said == (
        "march.csv checked again: of 3 rows that waited, 1 stored now, 1 known, 1 still held."
    )


def test_a_lot_knows_what_of_it_waits_at_intake():
    held = pd.DataFrame(
        {
            "name": ["march.csv", "march.csv", "april.csv"],
            "code": ["missing-dilution", "missing-dilution", "unknown-unit"],
        }
    )

    assert lots_words.held_for_lot(held) == (
        "3 rows of march.csv, april.csv could not be taken in for this lot: a missing dilution,"
        " an unknown unit."
    )
    assert lots_words.held_for_lot(held.head(1)).startswith("1 row of march.csv could not")


def test_a_group_of_held_rows_is_one_line():
    group: dict[Hashable, object] = {"rows": 1, "name": "march.csv", "code": "unknown-lot"}

    assert files.held_group(group) == "1 row of march.csv: a lot that is not in the store"


@pytest.mark.parametrize(
    ("names", "said"),
    [
        (["a.csv", "a.csv"], "in a.csv"),
        (["a.csv", "b.csv", "a.csv"], "in a.csv and b.csv"),
        (["a.csv", "b.csv", "c.csv"], "in 3 files, the last c.csv"),
    ],
)
def test_files_are_named_while_they_are_few(names, said):
    assert words.files(pd.Series(names)) == said


def test_intake_tells_what_came_in_and_what_waits(demo_store):
    receipts, held = demo_store.receipts(), demo_store.held()

    said = files.intake(receipts, held)

    assert said.startswith(f"{len(receipts)} files with ")
    assert f"the last one {receipts['name'].iloc[0]}; {len(held)} rows still held." in said


def test_an_empty_store_is_told_what_to_begin_with():
    nothing = pd.DataFrame({"rows": [], "name": []})

    assert files.intake(nothing, nothing).startswith("Nothing has been received yet. Start with")


# Evidence


def test_a_figure_says_the_same_chance_as_the_sentence_beside_it(demo_store):
    measured = [one for one in demo_store.verdict("R26-0140").lines if one.mean is not None]

    said = [lots_words.within(one, one.mean) for one in measured]

    assert measured
    for line, text in zip(measured, said, strict=True):
        assert text.endswith(" within the limits")
        assert f"chance of conforming {text.removesuffix(' within the limits')}" in line.reason


def test_the_specification_is_named_with_its_version_and_who_stands_behind_it(judged):
    one = judged("accept", "conforming", text="cayenne powder").specification

    assert specification(one) == (
        "cayenne powder, version 2, in force from 2026-01-01, approved by Mara Quill: first issue"
    )


def test_a_result_is_chosen_by_what_it_is(demo_store):
    frame = demo_store.results("R26-0140")

    said = lots_words.results(frame)

    assert len(said) == len(set(said)) == len(frame)
    assert any(one.startswith("heat by rapid sensor, sample 1, reading 1: ") for one in said)
    assert any(one.endswith("absent in 25 g") for one in said)


def test_a_number_says_where_it_came_from_and_what_an_open_reading_means(demo_store):
    every = demo_store.results()
    for qualifier, meaning in (("", ""), ("<", "an upper bound."), (">", "a lower bound.")):
        row = every[every["qualifier"] == qualifier].iloc[0]
        result, _, _ = demo_store.calculation(row["result"])

        said = origin(result)

        assert said.startswith(f"Row {row['source_row']} of {row['file']}, brought by Mara Quill")
        assert f"begins with {result['sha256'][:12]}." in said
        assert said.endswith(meaning)
        assert ("bound" in said) == bool(qualifier)
