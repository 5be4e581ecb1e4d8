"""What is said of lots, their results and what waits for them."""

from dataclasses import replace

import pandas as pd
import pytest

from dashboard.lots import words
from spc.acceptance import Method
from spc.acceptance.evidence.evidence import LotMean, Within


def test_decided_and_waiting_lots_add_up_to_all_lots(demo_store):
    every, open_ = demo_store.lots(), demo_store.lots(waiting=True)

    assert "on hold" in set(open_["decision"]), "a lot on hold waits too, and counts once"
    assert words.lots(every, open_) == "397 lots: 380 decided, 17 waiting for a decision."


def test_a_lot_knows_what_of_it_waits_at_intake():
    held = pd.DataFrame(
        {
            "name": ["march.csv", "march.csv", "april.csv"],
            "code": ["missing-dilution", "missing-dilution", "unknown-unit"],
        }
    )

    assert words.held_for_lot(held) == (
        "3 rows of march.csv, april.csv could not be taken in for this lot: a missing dilution,"
        " an unknown unit."
    )
    assert words.held_for_lot(held.head(1)).startswith("1 row of march.csv could not")


def test_a_figure_says_the_same_chance_as_the_sentence_beside_it(demo_store):
    measured = [one for one in demo_store.verdict("R26-0140").lines if one.mean is not None]

    said = [words.within(one, one.mean) for one in measured]

    assert measured
    for line, text in zip(measured, said, strict=True):
        assert text.endswith(" within the limits")
        assert f"chance of conforming {text.removesuffix(' within the limits')}" in line.reason


def test_a_result_is_chosen_by_what_it_is(demo_store):
    frame = demo_store.results("R26-0140")

    said = words.results(frame)

    assert len(said) == len(set(said)) == len(frame)
    assert any(one.startswith("heat by rapid sensor, sample 1, reading 1: ") for one in said)
    assert any(one.endswith("absent in 25 g") for one in said)


@pytest.mark.parametrize(
    ("relative", "bias", "said"),
    [(True, -0.08, "corrected by +8.7 %"), (False, 0.25, "corrected by −0.250 g/100 g")],
)
def test_a_corrected_mean_says_by_how_much_and_by_which_correction(relative, bias, said):
    method = Method(
        method="oven",
        standing="routine",
        screening=False,
        relative=relative,
        standard_uncertainty=0.1,
        repeatability=0.1,
        bias=bias,
        correction="correction 1 of oven for every lot",
    )
    mean = LotMean(
        characteristic="moisture",
        unit="g/100 g",
        scale="linear",
        method=method,
        low=9.0,
        high=9.0,
        uncertainty=0.1,
        sampling=0.1,
        method_part=0.1,
        within=Within(sigma=0.1, degrees=4),
        samples=2,
        readings=2,
    )

    assert words.corrected(mean) == f"{said} (correction 1 of oven for every lot)"
    assert words.corrected(replace(mean, method=replace(method, bias=0.0))) == ""
