"""An adopted correction changes how lots are judged from a day on, and no stored reading."""

import pytest

from spc.errors import BadCatalogue
from tests.approved import in_force
from tests.staff import ME

CORRECTION = """
[[correction]]
method = "rapid sensor"
characteristic = "heat"
material = "cayenne powder"
version = {version}
effective_from = {since}
against = "liquid chromatography"
approved_by = "Mara Quill"
reason = "reads low against chromatography over 40 lots"
kind = "ratio"
offset = 0.0
slope = {slope}
offset_variance = 0.0
slope_variance = 0.0004
covariance = 0.0
degrees_of_freedom = 39
residual_sd = 0.05
lowest = {lowest}
highest = 60000.0
lots = 40
"""


def correction(*, version=1, since="2026-03-01", slope=0.92, lowest=20000.0):
    text = CORRECTION.format(version=version, since=since, slope=slope, lowest=lowest)
    return text.encode()


@pytest.fixture
def measured(small_store, source_file):
    """The small store with three bags of L-1 and of L-2 on the sensor."""
    rows = [
        f"{lot},{bag},1,2026-03-04 08:{bag:02d}:00,0.1,10,10,8.2,µmol/L"
        for lot in ("L-1", "L-2")
        for bag in (1, 2, 3)
    ]
    small_store.receive_bytes("sensor.csv", source_file("sensor", *rows), by=ME)
    return small_store


def adopt(store, text, *, name="correction.toml"):
    """Receive a correction, and put it in force as its file states it."""
    store.receive_bytes(name, text, by=ME)
    in_force(store)


def heat(store, lot="L-1"):
    return next(one.mean for one in store.verdict(lot).lines if one.line.characteristic == "heat")


def test_a_lot_is_judged_by_its_corrected_mean_and_what_the_correction_leaves_open(measured):
    before = heat(measured)
    adopt(measured, correction())

    after = heat(measured)

    assert after.value == pytest.approx(before.value / 0.92)
    assert after.method_part == pytest.approx(
        (before.method_part**2 + (0.02 / 0.92) ** 2) ** 0.5, rel=1e-9
    )
    assert after.method.correction == "correction 1 of rapid sensor for cayenne powder"


def test_no_stored_reading_is_rewritten(measured):
    before = measured.results()[["result", "value_low", "value_high"]]
    adopt(measured, correction())

    assert measured.results()[["result", "value_low", "value_high"]].equals(before)
    assert measured.verify().ok


def test_lots_received_before_its_day_keep_their_verdict(measured):
    before = heat(measured, "L-1").value
    adopt(measured, correction(since="2026-03-03"))

    assert heat(measured, "L-1").value == before
    assert heat(measured, "L-2").value > before


def test_the_latest_version_in_force_counts(measured):
    before = heat(measured).value
    adopt(measured, correction(), name="one.toml")
    adopt(measured, correction(version=2, slope=1.0), name="two.toml")

    assert heat(measured).value == pytest.approx(before)


def test_it_is_not_made_beyond_what_it_rests_on_and_the_dossier_says_so(measured):
    before = heat(measured).value
    adopt(measured, correction(lowest=50000.0))

    flags = {one.name: one.sentence for one in measured.verdict("L-1").flags}

    assert heat(measured).value == before
    assert "lies outside the 50" in flags["not corrected"]


def test_a_version_is_never_given_other_figures(measured):
    adopt(measured, correction(), name="one.toml")

    with pytest.raises(BadCatalogue, match="next version number"):
        measured.receive_bytes("two.toml", correction(slope=0.95), by=ME)


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (("cayenne powder", "gunpowder"), "no material 'gunpowder'"),
        (('"rapid sensor"', '"divining rod"'), "nothing measures heat by divining rod"),
        (("reads low against chromatography over 40 lots", ""), "needs a reason"),
        (("slope = 0.92", "slope = -1.0"), "slope must be above zero"),
        (("highest = 60000.0", "highest = 10.0"), "two ends"),
    ],
)
def test_a_correction_that_cannot_be_made_is_refused(measured, change, said):
    with pytest.raises(BadCatalogue, match=said):
        measured.receive_bytes("bad.toml", correction().decode().replace(*change).encode(), by=ME)
