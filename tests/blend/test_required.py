"""A sauce of 5 000 SHU with 4 % blend needs a blend of 125 000 SHU."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from spc.blend.problem.required import required_heat
from spc.errors import InvalidInput


def test_a_sauce_asks_its_blend_for_its_heat_over_its_share():
    found = required_heat(5_000.0, 0.04, tolerance=0.1)

    assert found.target == pytest.approx(125_000.0)
    assert (found.lower, found.upper) == pytest.approx((112_500.0, 137_500.0))
    assert found.within == pytest.approx(0.1)


def test_heat_of_other_ingredients_is_taken_off_and_widens_what_the_blend_may_be_off():
    found = required_heat(5_000.0, 0.04, tolerance=0.1, other_shu=1_000.0)

    assert found.target == pytest.approx(100_000.0)
    assert found.within == pytest.approx(0.125)


@given(
    share=st.floats(0.01, 1.0),
    off=st.floats(-1.0, 1.0),
    place=st.floats(0.0, 1.0),
    other=st.floats(0.0, 2_000.0),
)
def test_every_blend_in_the_window_keeps_its_product_inside_whatever_is_weighed(
    share, off, place, other
):
    found = required_heat(5_000.0, share, tolerance=0.15, other_shu=other, share_tolerance=0.03)
    blend = found.lower + place * (found.upper - found.lower)

    product = share * (1.0 + 0.03 * off) * blend + other

    assert 4_250.0 - 1e-6 <= product <= 5_750.0 + 1e-6


@pytest.mark.parametrize(
    ("share", "more", "said"),
    [
        (0.0, {}, "share of 0"),
        (1.2, {}, "share of 1.2"),
        (0.04, {"tolerance": 0.0}, "tolerances"),
        (0.04, {"other_shu": 6_000.0}, "other ingredients alone"),
        (0.04, {"tolerance": 0.01, "share_tolerance": 0.05}, "no window is left"),
    ],
)
def test_what_no_blend_can_give_is_refused(share, more, said):
    with pytest.raises(InvalidInput, match=said):
        required_heat(5_000.0, share, **more)
