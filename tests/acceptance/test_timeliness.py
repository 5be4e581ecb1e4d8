"""Late results, old results, and results of tests that were repeated."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from spc.acceptance import Line, verdict
from tests.acceptance.conftest import SENSOR, specification

HEAT = Line(characteristic="heat", unit="SHU", scale="log", lower=38_000.0)
SALMONELLA = Line(
    characteristic="Salmonella", unit="in 25 g", scale="linear", requirement="absent", safety=True
)
HEAT_BY_SENSOR = ("heat", "rapid sensor")


@pytest.fixture
def flags():
    """Flags of a lot: name to sentence."""

    def raised(*results, lines=(HEAT,), known=None, **policy):
        around: dict[str, Any] = {"due_days": 14, "valid_days": 365}
        first_issue = specification(*lines, **(around | policy))
        lot = verdict(list(results), first_issue, **(known or {}))
        return {flag.name: flag.sentence for flag in lot.flags}

    return raised


class TestOverdue:
    def test_a_lot_that_waits_longer_than_results_take_is_told_by_characteristic(self, flags):
        found = flags(known={"waiting_days": 15})

        assert found == {
            "result overdue": "heat: no result that may decide yet, and the lot has waited 15"
            " days; results are due within 14 days."
        }

    def test_a_screening_result_does_not_stop_the_clock(self, flags, readings):
        line = replace(HEAT, reference_method_only=True)

        assert flags(
            readings(45_000.0, method=SENSOR), lines=(line,), known={"waiting_days": 15}
        ).keys() == {"result overdue"}

    @pytest.mark.parametrize(
        ("waiting", "due"), [(14, 14), (None, 14), (400, None)], ids=["due", "decided", "free"]
    )
    def test_nothing_is_overdue_before_its_day_or_where_nobody_waits(self, flags, waiting, due):
        assert flags(due_days=due, known={"waiting_days": waiting}) == {}

    def test_a_line_with_a_result_is_not_overdue(self, flags, readings):
        assert flags(readings(45_000.0), known={"waiting_days": 99}) == {}

    def test_one_day_is_one_day(self, flags):
        assert flags(due_days=1, known={"waiting_days": 2})["result overdue"].endswith(
            "within 1 day."
        )


class TestAged:
    def test_the_newest_result_of_the_deciding_method_counts(self, flags, readings):
        ages = np.array([900.0, 400.0])
        young = readings(45_000.0, method=SENSOR, age_days=np.array([3.0]))

        found = flags(readings(45_000.0, 46_000.0, age_days=ages), young)

        assert found["result aged"].startswith("heat: the newest result is 400 days old")
        assert "stand for 365 days" in found["result aged"]

    def test_absence_ages_too(self, flags, readings):
        about = {"characteristic": "Salmonella", "unit": "in 25 g", "basis": ""}
        old = readings(0.0, age_days=np.array([366.0]), **about)

        assert flags(old, lines=(SALMONELLA,)).keys() == {"result aged"}

    @pytest.mark.parametrize(
        ("age", "valid"),
        [(365.0, 365), (900.0, None), (math.nan, 365)],
        ids=["last day", "no limit", "no day known"],
    )
    def test_a_result_stands_for_its_days(self, flags, readings, age, valid):
        assert flags(readings(45_000.0, age_days=np.array([age])), valid_days=valid) == {}

    def test_readings_whose_age_is_not_looked_at_do_not_age(self, flags, readings):
        assert flags(readings(45_000.0)) == {}

    def test_readings_keep_their_age_on_another_basis(self, flags, readings):
        dry = replace(HEAT, basis="dry")
        water = readings(9.0, characteristic="moisture", unit="g/100 g", basis="")

        old = readings(45_000.0, age_days=np.array([366.0]))

        assert "result aged" in flags(old, water, lines=(dry,))


class TestAgain:
    def test_the_count_of_retests_is_told(self, flags, readings):
        found = flags(readings(45_000.0), known={"retests": {HEAT_BY_SENSOR: 2}})

        assert found["measured again"] == (
            "heat: measured on 3 days by rapid sensor, so 2 retests. Every result is kept; see why"
            " it was measured again."
        )

    def test_one_retest_is_one_retest(self, flags):
        assert "so 1 retest." in flags(known={"retests": {HEAT_BY_SENSOR: 1}})["measured again"]

    def test_other_characteristics_and_single_days_are_not_told(self, flags, readings):
        retests = {("colour", "colorimetry"): 3, HEAT_BY_SENSOR: 0}

        assert flags(readings(45_000.0), known={"retests": retests}) == {}


@pytest.mark.parametrize(
    ("known", "name"),
    [({"retests": {HEAT_BY_SENSOR: 1}}, "measured again")],
)
def test_each_can_be_made_to_hold(readings, known, name):
    first_issue = specification(HEAT, hold_on=(name,))

    lot = verdict([readings(45_000.0)], first_issue, **known)

    assert lot.recommendation == "hold"
    assert lot.sentence == f"Hold: {lot.flags[0].sentence}"
