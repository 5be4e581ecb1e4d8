"""All characteristics of a lot in one distance, of the lots that have them all."""

import numpy as np
import pytest

from spc import charts
from spc.answers.together import all_together
from spc.errors import InvalidInput, TooFewLots
from spc.store import StreamKey

HEAT = StreamKey(
    material="cayenne powder", supplier="North Mill", characteristic="heat", method="rapid sensor"
)
MOISTURE = {
    "characteristic": "moisture",
    "method": "moisture balance",
    "scale": "linear",
    "unit": "g/100 g",
    "basis": "",
}
COLOUR = {**MOISTURE, "characteristic": "colour", "method": "colorimetry", "unit": "ASTA units"}
NOBODY = frozenset[str]()


def dried(count, seed=3):
    return list(np.random.default_rng(seed).normal(8.0, 0.4, count))


def test_the_distance_of_two_characteristics_is_the_charts_own(charted, steady):
    heat, moisture = steady(20), dried(20)
    survey = charted({"values": heat}, {"values": moisture, **MOISTURE})

    found = all_together(survey, HEAT, NOBODY)

    expected = charts.t_squared(np.column_stack([np.log(heat), moisture]))
    np.testing.assert_allclose(found.distance, expected.values)
    np.testing.assert_allclose(found.upper, expected.upper)
    assert found.contributions.columns.tolist() == ["heat", "moisture"]
    assert tuple(found.contributions.index) == found.lots
    np.testing.assert_allclose(found.contributions.to_numpy(), expected.contributions)


def test_what_characteristics_add_is_less_than_the_distance_where_they_do_not_move_together(
    charted, steady
):
    survey = charted({"values": steady(40)}, {"values": dried(40), **MOISTURE})

    found = all_together(survey, HEAT, NOBODY)

    added = found.contributions.sum(axis=1).to_numpy()
    assert (found.contributions >= 0.0).all(axis=None)
    np.testing.assert_allclose(added, found.distance, rtol=0.6, atol=0.6)


def test_a_lot_that_breaks_the_pattern_is_called_out_by_its_characteristic(charted):
    wet = np.array(dried(24))
    hot = 4e4 * np.exp(-0.3 * (wet - 8.0) + np.random.default_rng(9).normal(0.0, 0.005, 24))
    hot[-1] *= 1.1
    survey = charted(
        {"values": list(hot), "baseline": 23}, {"values": list(wet), "baseline": 23, **MOISTURE}
    )

    found = all_together(survey, HEAT, NOBODY)

    assert abs(survey.points.loc[23, "z"]) < 3.0, "the value alone is not odd"
    assert found.signals[-1]
    assert found.largest[-1] in ("heat", "moisture")


def test_only_lots_with_every_characteristic_are_shown_in_order_of_receipt(charted, steady):
    censored = [0] * 5 + [1] + [0] * 14
    survey = charted(
        {"values": steady(20), "censored": censored}, {"values": dried(20), **MOISTURE}
    )

    found = all_together(survey, HEAT, NOBODY)

    assert len(found.lots) == 19
    assert "L-06" not in found.lots
    assert (np.diff(found.received_at) >= np.timedelta64(0)).all()


def test_a_characteristic_measured_of_few_lots_does_not_cost_the_others(charted, steady):
    survey = charted(
        {"values": steady(20)},
        {"values": dried(20), **MOISTURE},
        {"values": [120.0, 125.0, 122.0], **COLOUR},
    )

    found = all_together(survey, HEAT, NOBODY)

    assert len(found.lots) == 20
    assert "colour" not in found.contributions.columns


def test_the_word_of_the_supplier_does_not_count_as_a_measurement(charted, steady):
    declared = {"values": steady(30, seed=8), "method": "supplier certificate"}
    survey = charted({"values": steady(20)}, declared, {"values": dried(20), **MOISTURE})

    found = all_together(survey, HEAT, frozenset({"supplier certificate"}))

    own = charts.t_squared(np.column_stack([np.log(steady(20)), dried(20)]))
    np.testing.assert_allclose(found.distance, own.values)


def test_one_characteristic_is_no_togetherness(charted, steady):
    survey = charted({"values": steady(20)})

    with pytest.raises(InvalidInput, match="fewer than two characteristics") as refused:
        all_together(survey, HEAT, NOBODY)

    assert "cayenne powder from North Mill" in str(refused.value)


def test_a_supplier_of_whom_nothing_but_certificates_is_known_is_refused(charted, steady):
    survey = charted({"values": steady(20), "method": "supplier certificate"})

    with pytest.raises(InvalidInput, match="fewer than two characteristics"):
        all_together(survey, HEAT, frozenset({"supplier certificate"}))


def test_too_few_lots_in_common_are_refused_with_their_number(charted, steady):
    survey = charted({"values": steady(3)}, {"values": dried(3), **MOISTURE})

    with pytest.raises(TooFewLots, match="at least 4 lots, but 3 were given"):
        all_together(survey, HEAT, NOBODY)
