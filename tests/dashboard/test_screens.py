"""Every screen, run without a browser: it answers in words and never with an exception."""

import pytest

from tests.dashboard.screen import SCREENS, opened, words


@pytest.mark.usefixtures("demo_screens")
@pytest.mark.parametrize("screen", sorted(SCREENS))
def test_a_screen_of_the_demo_raises_nothing(screen):
    app = opened(screen, lot="R26-0140")

    assert not app.exception
    assert not app.error


@pytest.mark.usefixtures("empty_screens")
# People are invited, not received.
@pytest.mark.parametrize("screen", sorted(set(SCREENS) - {"people"}))
def test_a_screen_of_an_empty_store_says_what_to_do(screen):
    app = opened(screen)

    assert not app.exception
    assert not app.error
    assert "receive" in words(app).casefold() or app.get("page_link")
