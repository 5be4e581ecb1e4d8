"""What was planted in the demo is what the store finds in it; see demo_data/README.md."""

import numpy as np
import pytest

from tests.staff import ME

DRIFTING = [
    *("R26-0092", "R26-0098", "R26-0108", "R26-0112", "R26-0117", "R26-0124", "R26-0131"),
    *("R26-0137", "R26-0146"),
]


@pytest.fixture(scope="module")
def points(demo_store):
    return demo_store.sweep().points


@pytest.fixture(scope="module")
def signals(demo_store):
    return demo_store.sweep().signals()


@pytest.fixture(scope="module")
def verdicts(demo_store):
    return demo_store.verdicts([f"R26-0{number}" for number in range(136, 150)] + ["R25-0075"])


def line(verdict, characteristic):
    return next(one for one in verdict.lines if one.line.characteristic == characteristic)


def test_the_drift_of_a_new_crop_is_signalled_while_every_lot_conforms(points, signals, verdicts):
    drift = signals.query(
        "material == 'cayenne powder' and supplier == 'North Fen Spices'"
        " and characteristic == 'heat' and method == 'rapid sensor'"
    )
    mine = points[(points["method"] == "rapid sensor") & points["lot"].isin(DRIFTING)]

    assert {"R26-0137", "R26-0146"} <= set(drift["lot"])
    assert drift.loc[drift["lot"] == "R26-0146", "rule"].nunique() >= 2
    assert mine["lot"].tolist() == DRIFTING
    assert np.polyfit(range(9), np.log(mine["value"]), 1)[0] == pytest.approx(0.04, abs=0.015)
    for lot in ("R26-0137", "R26-0146"):
        assert line(verdicts[lot], "heat").outcome == "conforming"
        assert "unusual for this supplier" in {flag.name for flag in verdicts[lot].flags}


def test_one_trader_s_certificates_read_nine_percent_above_our_results(points):
    heat = points[points["characteristic"] == "heat"]
    table = heat.pivot_table(index=["supplier", "lot"], columns="method", values="value")
    ratio = np.log(table["supplier certificate"] / table["rapid sensor"]).groupby("supplier")

    median = np.exp(ratio.median())

    assert median["Brindlemoor Trading"] == pytest.approx(1.09, abs=0.02)
    assert median.drop("Brindlemoor Trading").between(0.96, 1.04).all()


def test_uneven_bags_show_as_spread_within_the_lots_of_one_supplier(points):
    flakes = points.query(
        "material == 'chilli flakes' and characteristic == 'heat' and method == 'rapid sensor'"
    )

    spread = flakes.groupby("supplier")["spread"].median()

    assert spread.idxmax() == "Dunmarsh Ingredients"
    assert spread["Dunmarsh Ingredients"] > 2 * spread.drop("Dunmarsh Ingredients").max()


def test_a_low_strip_batch_shows_against_chromatography(demo_store):
    heat = demo_store.results().query("characteristic == 'heat'")
    low = set(heat.loc[heat["sensor_batch"] == "S26-03", "lot"])
    table = heat.pivot_table(index="lot", columns="method", values="value_low", aggfunc="mean")
    ratio = (table["rapid sensor"] / table["liquid chromatography"]).dropna()
    inside = ratio.index.isin(low)

    assert len(low) == 15
    assert inside.sum() == 10
    assert ratio[inside].median() / ratio[~inside].median() == pytest.approx(0.92, abs=0.025)


def test_a_dilution_slip_is_held_row_by_row(demo_store):
    held = demo_store.held()
    slip = held[held["name"] == "2026-11-17_sensor_late.csv"]

    assert len(slip) == 36
    assert set(slip["code"]) == {"implausible-dilution"}
    assert slip["reason"].str.contains("1 mL/g; rapid sensor is run at 20 to 2000").all()
    assert set(slip["lot"]) == {"R26-0143", "R26-0145", "R26-0147"}


@pytest.mark.parametrize("lot", ["R26-0143", "R26-0145", "R26-0147"])
def test_lots_without_own_heat_wait_for_it(verdicts, lot):
    assert verdicts[lot].recommendation == "hold"
    assert line(verdicts[lot], "heat").outcome == "no result"


def test_too_much_aflatoxin_rejects_the_lot(verdicts):
    judged = verdicts["R26-0139"]

    assert judged.recommendation == "reject"
    outcomes = {one.line.characteristic: one.outcome for one in judged.lines}
    assert outcomes.pop("aflatoxin B1") == "not conforming"
    assert set(outcomes.values()) == {"conforming"}
    assert "9.8 µg/kg" in judged.sentence


def test_contaminants_are_accepted_guarded_and_the_law_is_named(verdicts):
    for characteristic in ("aflatoxin B1", "ochratoxin A"):
        judged = line(verdicts["R26-0136"], characteristic)

        assert judged.line.rule == "guarded acceptance"
        assert judged.line.jurisdiction == "EU; check current law"
        assert judged.outcome == "conforming"
        assert "Guarded acceptance: conforming only from a chance of 95 %" in judged.reason


def test_nothing_that_waits_is_late_or_old_yet_and_old_lots_are(verdicts):
    raised = {lot: {flag.name for flag in judged.flags} for lot, judged in verdicts.items()}

    assert "result aged" in raised.pop("R25-0075")
    assert not any(names & {"result overdue", "result aged"} for names in raised.values())


def test_no_moisture_of_the_demo_is_implausible_and_few_samples_stand_out(demo_store):
    judged = demo_store.verdicts(demo_store.lots()["lot"].tolist())
    raised = [flag.name for one in judged.values() for flag in one.flags]

    assert raised.count("possible slip") == 0
    assert 0 < raised.count("outlying sample") < 0.04 * len(judged)


def test_a_lot_near_its_limit_is_undecided_and_held(verdicts):
    judged = verdicts["R26-0140"]

    assert judged.recommendation == "hold"
    heat = line(judged, "heat")
    assert heat.outcome == "undecided"
    assert 0.5 < max(heat.probability) < 0.8


def test_salmonella_rejects_the_lot(demo_store, verdicts):
    judged = verdicts["R25-0075"]

    assert judged.recommendation == "reject"
    assert line(judged, "Salmonella").outcome == "not conforming"
    assert demo_store.lot("R25-0075").decision == "rejected"


@pytest.mark.parametrize("lot", ["R26-0136", "R26-0138", "R26-0141"])
def test_good_lots_that_are_complete_may_be_accepted(verdicts, lot):
    assert verdicts[lot].recommendation == "accept"


def test_this_morning_s_readings_complete_two_lots(writable_demo, demo_files):
    new = demo_files[0].parent / "new" / "2026-11-20_sensor.csv"

    receipt = writable_demo.receive(new, by=ME)

    held = writable_demo.held(receipt.receipt)
    assert dict(zip(held["lot"], held["code"], strict=True)) == {
        "R26-0142": "missing-dilution",
        "R26-O149": "unknown-lot",
    }
    assert "R26-0149" in held.set_index("lot").loc["R26-O149", "remedy"]
    judged = writable_demo.verdicts(["R26-0142", "R26-0144"])
    assert line(judged["R26-0142"], "heat").outcome == "conforming"
    assert line(judged["R26-0144"], "heat").outcome == "conforming"


def test_the_plain_mess_of_the_files_is_held_for_the_reasons_planted(demo_store):
    codes = demo_store.held()["code"].value_counts()

    assert codes["missing-dilution"] == 11
    assert codes["implausible-dilution"] == 36
    assert codes["ambiguous-number"] == 1
    assert codes["unreadable-date"] == 1
    assert codes["unreadable-number"] == 1
    assert set(codes.index) == {
        *("missing-dilution", "implausible-dilution", "ambiguous-number", "unreadable-date"),
        *("unreadable-number", "unknown-lot"),
    }
