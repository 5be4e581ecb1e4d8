"""The gate as a browser meets it: files, sessions that end, and the way in."""

from pathlib import Path

import pytest
from playwright.sync_api import expect

import demo_data

NEW_FILE = Path(demo_data.__file__).parent / "new" / "2026-11-20_sensor.csv"
LONG = 60_000


def test_files_go_up_and_come_down_through_the_gate_and_only_with_the_session(browser, looked_at):
    context = browser.new_context(accept_downloads=True)
    page = context.new_page()
    looked_at.enter(page)

    page.goto(f"{looked_at.address}/intake")
    page.locator("input[type=file]").set_input_files(NEW_FILE)
    expect(page.get_by_text("Nothing is stored yet")).to_be_visible(timeout=LONG)
    page.goto(f"{looked_at.address}/suppliers?material=cayenne+powder")
    save = page.get_by_test_id("stDownloadButton").first
    save.wait_for(timeout=LONG)
    with page.expect_download(timeout=LONG) as download:
        save.get_by_role("button").click()

    assert download.value.path().stat().st_size > 0
    with_session = context.request.get(download.value.url)
    context.clear_cookies()
    without = context.request.get(download.value.url)
    assert (with_session.status, without.status) == (200, 401)
    context.close()


def test_a_click_after_the_session_has_ended_says_so_and_shows_the_way_in(browser, looked_at):
    context = browser.new_context()
    tab, other = context.new_page(), context.new_page()
    looked_at.enter(tab)
    tab.goto(f"{looked_at.address}/lots")
    expect(tab.get_by_text("one person, no second signature")).to_be_visible(timeout=LONG)

    other.goto(f"{looked_at.address}/logout")
    other.get_by_role("button", name="Sign out").click()
    expect(other.get_by_text("prints a new one")).to_be_visible()
    tab.get_by_role("link", name="Trends").first.click()

    expect(tab.get_by_role("alert").get_by_text("Your session has ended")).to_be_visible(
        timeout=LONG
    )
    expect(tab.get_by_role("heading", name="Trends")).to_be_hidden()
    tab.get_by_role("link", name="Sign in").click()
    expect(tab).to_have_url(f"{looked_at.address}/login")
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_sign_in_page_fits_a_telephone_in_the_house_colours(browser, looked_at, scheme):
    context = browser.new_context(viewport={"width": 390, "height": 844}, color_scheme=scheme)
    page, problems = context.new_page(), []
    page.on("console", lambda said: problems.append(said.text))

    page.goto(f"{looked_at.address}/lot?lot=R26-0142")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    paper = page.evaluate("getComputedStyle(document.body).backgroundColor")

    assert page.url.endswith("/login?next=%2Flot%3Flot%3DR26-0142")
    assert paper == {"light": "rgb(251, 246, 236)", "dark": "rgb(28, 24, 21)"}[scheme]
    assert page.evaluate("document.body.scrollWidth") <= 390
    assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('1rem Asap'))")
    assert problems == []
    context.close()
