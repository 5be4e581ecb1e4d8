"""What a store knows of its methods: neighbours, controls, comparisons, and where spread sits."""

from dataclasses import replace
from datetime import date

import pytest

from spc.answers import adoptions, method_comparisons, method_spread, methods
from spc.errors import InvalidInput
from tests.approved import in_force
from tests.staff import ME

MATERIAL = "cayenne powder"


@pytest.fixture(scope="module")
def sensor(demo_store):
    return demo_store.catalogue().method("rapid sensor", "heat")


@pytest.fixture(scope="module")
def readings(demo_store):
    return demo_store.compare.routine("heat", "rapid sensor")


def test_own_methods_are_all_but_the_supplier_s_word(demo_store):
    own = {one.method for one in methods.own_methods(demo_store)}

    assert own.isdisjoint(methods.declared_methods(demo_store))
    assert methods.declared_methods(demo_store) == {"supplier certificate"}
    assert "rapid sensor" in own


def test_a_method_is_held_against_the_reference_first(demo_store, sensor):
    others = methods.other_methods(demo_store, sensor)

    first = demo_store.catalogue().method(others[0], "heat")
    assert first.standing == "reference"
    assert "rapid sensor" not in others
    assert "supplier certificate" not in others


def test_a_method_is_told_in_the_unit_and_on_the_scale_of_what_it_measures(demo_store, sensor):
    heat = methods.scale_of_method(demo_store, sensor)
    unknown = methods.scale_of_method(demo_store, replace(sensor, characteristic="nothing known"))

    assert (heat.unit, heat.log) == ("SHU", True)
    assert (unknown.unit, unknown.log) == ("", False)


def test_what_laboratories_read_once_is_no_watch_kept_over_sensor_batches(demo_store):
    every = demo_store.compare.controls("rapid sensor")

    watched = methods.watched_controls(every, "heat")

    assert watched
    assert all(any(one.batches) for one in watched)
    assert methods.watched_controls(every, "moisture") == []


def test_a_correction_taken_back_stays_among_the_versions(small_store):
    stated = small_store.catalogue().method("rapid sensor", "heat")
    taken_back = adoptions.next_correction(
        adoptions.NO_CORRECTION,
        [],
        stated=stated,
        against="liquid chromatography",
        lots=(MATERIAL, ""),
        reason="trial",
        effective_from=date(2026, 1, 1),
    )
    text = adoptions.correction_text(taken_back)
    small_store.receive_bytes("correction.toml", text.encode(), by=ME)
    in_force(small_store)

    found = methods.corrections_of_method(small_store, stated)

    assert [one.version for one in found.versions] == [1]
    assert found.in_force == ()


@pytest.mark.parametrize("kind", ["differences", "deming", "weighted-deming", "passing-bablok"])
def test_every_kind_of_comparison_can_be_asked_of_the_pairs_of_a_store(demo_store, sensor, kind):
    against = methods.other_methods(demo_store, sensor)[0]
    reference = demo_store.catalogue().method(against, "heat")
    pairs = demo_store.compare.pairs("heat", "rapid sensor", against=against)

    found = method_comparisons.compare_methods(pairs, kind, sensor, reference)

    assert found.kind == kind
    assert found.scale == ("log" if kind == "differences" else "linear")
    if kind == "differences":
        alone = method_comparisons.mean_difference(pairs, log=True)
        assert found.agreement.bias == pytest.approx(alone.agreement.bias)


def test_the_spread_of_readings_goes_down_to_the_reading(readings):
    of_one = method_spread.readings_spread(readings, material=MATERIAL, log=True)
    of_all = method_spread.readings_spread(readings, log=True)

    assert of_one.names[-2:] == of_all.names[-2:] == (method_spread.BAG, method_spread.READING)
    assert "material" in of_all.names
    assert "material" not in of_one.names
    assert of_one.sd_of(method_spread.READING) == pytest.approx(0.05, abs=0.02)


def test_bags_read_once_do_not_tell_repeatability(readings):
    once = readings.drop_duplicates(["lot", "sample"])

    with pytest.raises(InvalidInput, match="no bag was read twice"):
        method_spread.readings_spread(once, material=MATERIAL, log=True)


def test_sampling_parts_are_found_in_routine_and_lots_are_sampled_as_usual(
    demo_store, sensor, readings
):
    found = method_spread.sampling_parts(demo_store, sensor, MATERIAL)
    usual = method_spread.usual_sampling(readings, MATERIAL)

    assert not found.planned
    assert 0.0 < found.spread.test < 0.1
    assert usual.bags > 1
    assert usual.laboratories == 1


def test_sampling_parts_stand_as_planned_where_routine_cannot_tell(small_store, source_file):
    row = "L-1,{},1,2026-03-05,2.0,50,100,20.0,µmol/L"
    rows = [row.format(bag) for bag in (1, 2, 3)]
    small_store.receive_bytes("march.csv", source_file("sensor", *rows), by=ME)
    stated = small_store.catalogue().method("rapid sensor", "heat")

    found = method_spread.sampling_parts(small_store, stated, MATERIAL)

    assert found.planned
    assert found.spread.bag == pytest.approx(0.06)
    assert found.spread.test == pytest.approx(0.05)
