"""What of a material's lots can be compared: own results, and certificates as they were printed."""

import pytest

from spc.errors import UnknownName
from tests.approved import in_force
from tests.staff import ME

BIASED = """
[[method]]
method = "rapid sensor"
characteristic = "heat"
standing = "routine"
standard_uncertainty = 0.05
repeatability = 0.05
screening = true
bias = -0.08
reading_unit = "µmol/L"
quantification_limit = 0.5
range_upper = 35.0
factors = { total = 16.0 }
dilution_lowest = 20.0
dilution_highest = 2000.0
"""


@pytest.fixture
def sensor_file(source_file):
    """Three bags of L-1 and of L-2 on the sensor."""
    rows = [
        f"{lot},{bag},1,2026-03-04 08:{bag:02d}:00,0.1,10,10,{8.0 + bag / 10},µmol/L"
        for lot in ("L-1", "L-2")
        for bag in (1, 2, 3)
    ]
    return source_file("sensor", *rows)


@pytest.fixture
def measured(small_store, sensor_file):
    small_store.receive_bytes("sensor.csv", sensor_file, by=ME)
    return small_store


def lots(store):
    return store.compare.comparable("cayenne powder", "heat").lots.set_index("lot")


def test_a_certificate_stands_as_it_was_printed_without_the_signs_of_its_file(measured):
    said = measured.compare.comparable("cayenne powder", "heat").declared

    assert said["printed"].tolist() == ["41000", "38500"], 'L-2 came as "38,500"'
    assert said["declared"].tolist() == [41_000.0, 38_500.0]


def test_what_samples_make_uncertain_is_told_apart_from_the_method(measured):
    said = measured.compare.comparable("cayenne powder", "heat").declared.set_index("lot")
    own = lots(measured)

    assert said["own"].to_dict() == own["value"].to_dict()
    assert said["own_sampling"].to_dict() == own["sampling"].to_dict()
    assert (said["own_sampling"] < said["own_uncertainty"]).all()


def test_own_results_are_compared_without_the_known_bias_of_their_method(small_store, sensor_file):
    small_store.receive_bytes("biased.toml", BIASED.encode(), by=ME)
    in_force(small_store)
    small_store.receive_bytes("sensor.csv", sensor_file, by=ME)

    judged = next(
        one.mean for one in small_store.verdict("L-1").lines if one.line.characteristic == "heat"
    )
    stored = small_store.sweep().points.set_index(["lot", "method"])["value"]
    assert lots(small_store).loc["L-1", "value"] == pytest.approx(judged.value)
    assert judged.value == pytest.approx(stored["L-1", "rapid sensor"] / 0.92)


def test_a_bias_found_later_does_not_change_what_was_measured_before(measured):
    before = lots(measured)["value"].to_dict()

    measured.receive_bytes("biased.toml", BIASED.encode(), by=ME)
    in_force(measured)

    assert lots(measured)["value"].to_dict() == before


def test_every_certificate_of_the_demo_is_a_plain_decimal(demo_store):
    for material in ("cayenne powder", "chilli flakes", "capsicum oleoresin"):
        said = demo_store.compare.comparable(material, "heat").declared

        assert said["printed"].str.fullmatch(r"[0-9]+(\.[0-9]+)?").all()
        assert said["printed"].astype(float).tolist() == said["declared"].tolist()


def test_what_nobody_measured_cannot_be_compared(small_store):
    with pytest.raises(UnknownName, match="comparable characteristic 'heat'"):
        small_store.compare.comparable("cayenne powder", "heat")
