"""A correction can be tried on lots before anybody adopts it, and leaves no trace."""

from dataclasses import replace
from datetime import date

import pytest

from spc.intake.corrections import AdoptedCorrection
from tests.staff import ME

LOW = AdoptedCorrection(
    method="rapid sensor",
    characteristic="heat",
    material="cayenne powder",
    version=1,
    effective_from=date(2030, 1, 1),
    against="liquid chromatography",
    approved_by="",
    reason="",
    kind="ratio",
    offset=0.0,
    slope=0.92,
    offset_variance=0.0,
    slope_variance=0.0004,
    covariance=0.0,
    degrees_of_freedom=39,
    residual_sd=0.05,
    lowest=20000.0,
    highest=60000.0,
    lots=40,
)


@pytest.fixture
def measured(small_store, source_file):
    rows = [f"L-1,{bag},1,2026-03-04 08:0{bag}:00,0.1,10,10,8.2,µmol/L" for bag in (1, 2, 3)]
    small_store.receive_bytes("sensor.csv", source_file("sensor", *rows), by=ME)
    return small_store


def heat(verdicts):
    lines = verdicts["L-1"].lines
    return next(one.mean for one in lines if one.line.characteristic == "heat")


def test_a_trial_judges_lots_as_if_it_were_in_force_whatever_its_day(measured):
    before = heat(measured.verdicts(["L-1"]))
    tried = heat(measured.verdicts(["L-1"], adopting=[LOW]))

    assert tried.value == pytest.approx(before.value / 0.92)
    assert heat(measured.verdicts(["L-1"])).value == before.value
    assert measured.catalogue().corrections == ()


def test_a_trial_goes_before_the_version_that_it_would_follow(measured):
    tried = heat(measured.verdicts(["L-1"], adopting=[LOW, replace(LOW, version=2, slope=1.0)]))

    assert tried.method.correction == "correction 2 of rapid sensor for cayenne powder"
    assert tried.method.bias == 0.0
