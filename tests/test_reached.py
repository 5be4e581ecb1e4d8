"""A property of which too few examples come to the assertion fails."""

import pytest

from tests.reached import Tally


@pytest.mark.parametrize(("tried", "counted"), [(0, 0), (100, 10), (60, 0)])
def test_too_few_examples_fail(tried, counted):
    with pytest.raises(pytest.fail.Exception, match=f"{counted} of {tried} examples"):
        Tally(tried=tried, counted=counted).refuse_few(0.5)


def test_enough_examples_pass():
    Tally(tried=100, counted=50).refuse_few(0.5)
