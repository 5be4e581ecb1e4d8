"""Today, run without a browser."""

import pytest

from tests.dashboard.screen import opened, words


@pytest.mark.usefixtures("demo_screens")
def test_today_says_what_waits_and_why():
    said = words(opened("today"))

    assert "17 lots wait for a decision" in said
    assert "1 should be rejected" in said
    assert "aflatoxin B1 9.8 µg/kg by liquid chromatography does not conform" in said
    assert "No number of further samples would settle it" in said
    assert "a dilution that cannot be right" in said
    assert "six rising or falling" in said
