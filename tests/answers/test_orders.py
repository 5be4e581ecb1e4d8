"""An order starts from a specification, and its answer is a recipe or the reason there is none."""

from dataclasses import replace

import pytest

from spc.acceptance.specification import Line, Specification
from spc.answers.blends.specified_orders import (
    blend_order,
    materials_with_heat,
    order_from_specification,
)
from spc.answers.specified_lines import newest_specification, specified_line
from spc.errors import InvalidInput, UnknownName
from tests import blend_orders

MOISTURE = Line(characteristic="moisture", unit="g/100 g", scale="linear", upper=11.0)
SAFETY = Line(characteristic="aflatoxin B1", unit="µg/kg", scale="log", upper=5.0, safety=True)
HEAT = Line(characteristic="heat", unit="SHU", scale="log", lower=30e3, upper=60e3, basis="dry")


def specification(*lines, version=1):
    return Specification(
        material="cayenne powder",
        version=version,
        effective_from="2026-01-01",
        approved_by="Mara Quill",
        reason="first issue",
        lines=lines,
    )


def test_an_order_takes_unit_basis_and_other_limits_from_the_specification():
    order = order_from_specification(
        specification(HEAT, MOISTURE, SAFETY), batch_kg=300.0, heat=40_000.0, within=0.1
    )

    assert (order.lower, order.upper) == pytest.approx((36_000.0, 44_000.0))
    assert (order.unit, order.basis) == ("SHU", "dry")
    assert [one.characteristic for one in order.limits] == ["moisture"], "safety is never mixed to"


def test_a_material_whose_heat_is_not_limited_cannot_be_ordered_by_heat():
    unlimited = specification(MOISTURE)

    with pytest.raises(InvalidInput, match="does not limit heat"):
        order_from_specification(unlimited, batch_kg=300.0, heat=40_000.0, within=0.1)

    assert materials_with_heat([unlimited]) == []
    assert materials_with_heat([specification(HEAT)]) == ["cayenne powder"]


def test_the_newest_specification_is_the_one_that_is_asked():
    first, second = specification(HEAT), specification(MOISTURE, version=2)

    assert newest_specification([second, first], "cayenne powder") is second


def test_a_material_without_a_specification_is_refused_by_name(demo_store):
    with pytest.raises(UnknownName, match="paprika"):
        newest_specification([], "paprika")
    with pytest.raises(UnknownName, match="paprikka"):
        blend_order(demo_store, "paprikka", batch_kg=1.0, heat=1_000.0, within=0.1)


@pytest.mark.parametrize(("basis", "known"), [("as-is", True), ("dry", False)])
def test_a_line_holds_for_its_own_basis_only(demo_store, basis, known):
    line = specified_line(
        demo_store.catalogue(), material="cayenne powder", characteristic="heat", basis=basis
    )

    assert (line is not None) == known


def test_a_window_upside_down_is_refused():
    order = replace(blend_orders.middling_order(), lower=50_000.0)

    with pytest.raises(InvalidInput):
        order.best_recipe(blend_orders.two_lots())
