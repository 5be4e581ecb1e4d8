"""Control samples in the store: readings of a jar speak for every lot measured beside it."""

import pytest

from spc.store.lots import controls
from tests.staff import ME

CONTROL = """
[[control]]
control = "JAR-1"
characteristic = "heat"
assigned = 40000.0
standard_uncertainty = 300.0
source = "an invented jar"
"""


@pytest.fixture(scope="module")
def streams(demo_store):
    with demo_store._read() as cursor:
        return controls.streams(cursor)


def test_the_low_strip_batch_shows_on_both_readers(streams):
    sensor = [one for one in streams if one.method == "rapid sensor"]

    for stream in sensor:
        off = [name for name, bad in zip(stream.batches, stream.judged.off, strict=True) if bad]
        assert off == ["S26-03"]
        assert stream.judged.deviation[stream.batches.index("S26-03")] == pytest.approx(
            -0.08, abs=0.02
        )
    assert {one.instrument for one in sensor} == {"Reader A", "Reader B"}


def test_the_dossier_of_a_lot_measured_with_the_low_batch_says_so(demo_store):
    low, later = (
        demo_store.verdicts(["R26-0033", "R26-0140"])[n] for n in ("R26-0033", "R26-0140")
    )

    said = [flag.sentence for flag in low.flags if flag.name == "control sample off"]
    assert len(said) == 1
    assert said[0].startswith("heat: S26-03 on Reader")
    assert "−7." in said[0]
    assert "control sample off" not in {flag.name for flag in later.flags}


def test_a_control_sample_is_no_lot(demo_store):
    assert not demo_store.lots()["lot"].str.startswith(("CS-", "RT-")).any()
    assert not demo_store.sweep().points["lot"].str.startswith(("CS-", "RT-")).any()


def test_its_readings_are_stored_like_any_and_verified(small_store, source_file):
    small_store.receive_bytes("control.toml", CONTROL.encode(), by=ME)
    rows = [f"JAR-1,1,{n},2026-03-04 06:0{n}:00,0.1,10,10,8.2,µmol/L" for n in range(1, 4)]

    receipt = small_store.receive_bytes("jar.csv", source_file("sensor", *rows), by=ME)

    assert (receipt.stored, receipt.held) == (3, 0)
    with small_store._read() as cursor:
        (stream,) = controls.streams(cursor)
    assert stream.judged is not None
    assert stream.judged.readings.tolist() == [3]
    assert small_store.verify().ok


def test_a_control_sample_nobody_announced_is_an_unknown_lot(small_store, source_file):
    row = "JAR-1,1,1,2026-03-04 06:01:00,0.1,10,10,8.2,µmol/L"

    receipt = small_store.receive_bytes("jar.csv", source_file("sensor", row), by=ME)

    assert receipt.held == 1


def test_a_changed_value_needs_a_new_name(small_store):
    small_store.receive_bytes("control.toml", CONTROL.encode(), by=ME)
    changed = CONTROL.replace("40000.0", "41000.0")

    with pytest.raises(Exception, match="new name"):
        small_store.receive_bytes("changed.toml", changed.encode(), by=ME)
