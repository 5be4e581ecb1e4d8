"""The gate as a browser meets it: charts within the policy, and sessions that end."""

from pathlib import Path

import pytest
from playwright.sync_api import expect

import demo_data

NEW_FILE = Path(demo_data.__file__).parent / "new" / "2026-11-20_sensor.csv"
TREND = "material=cayenne+powder&supplier=North+Fen+Spices&characteristic=heat&method=rapid+sensor"
SCREENS = (
    ("/", 0),
    ("/lots", 0),
    ("/lot?lot=R26-0146", 1),
    (f"/trends?{TREND}", 1),
    ("/suppliers?material=cayenne+powder", 4),
    ("/blends", 1),
    ("/specifications?material=cayenne+powder", 0),
    ("/methods", 1),
    ("/intake", 0),
)
LONG = 60_000
WATCH = """
window.violations = [];
document.addEventListener('securitypolicyviolation', (one) =>
  window.violations.push(one.violatedDirective + ' ' + one.blockedURI));
"""
# A library of the front end looks whether it may use WebAssembly, and does without.
PROBE = "script-src wasm-eval"
# The front end looks for its server below every deep link, and finds it at the root.
LOOKED_FOR = ("/_stcore/health", "/_stcore/host-config")


def test_every_screen_draws_its_charts_within_the_policy(browser, server):
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    context.add_init_script(WATCH)
    page, problems = context.new_page(), []
    page.on("pageerror", lambda problem: problems.append(str(problem)))
    page.on("console", lambda said: problems.extend(_worth_telling(said)))
    server.enter(page)

    for address, charts in SCREENS:
        page.goto(f"{server.address}{address}")
        expect(page.get_by_text("no food-safety verdict")).to_be_visible(timeout=LONG)
        drawn = page.locator("[data-testid=stVegaLiteChart]")
        if charts:
            expect(drawn.nth(charts - 1)).to_be_attached(timeout=LONG)
        for place in range(drawn.count()):
            expect(drawn.nth(place).locator("canvas, svg").first).to_be_attached(timeout=LONG)

        assert drawn.count() >= charts, address
        assert set(page.evaluate("window.violations")) <= {PROBE}, address
    assert problems == []
    context.close()


def test_files_go_up_and_come_down_through_the_gate_and_only_with_the_session(browser, server):
    context = browser.new_context(accept_downloads=True)
    page = context.new_page()
    server.enter(page)

    page.goto(f"{server.address}/intake")
    page.locator("input[type=file]").set_input_files(NEW_FILE)
    expect(page.get_by_text("Nothing is stored yet")).to_be_visible(timeout=LONG)
    page.goto(f"{server.address}/suppliers?material=cayenne+powder")
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


def test_a_click_after_the_session_has_ended_says_so_and_shows_the_way_in(browser, server):
    context = browser.new_context()
    tab, other = context.new_page(), context.new_page()
    server.enter(tab)
    tab.goto(f"{server.address}/lots")
    expect(tab.get_by_text("one person, no second signature")).to_be_visible(timeout=LONG)

    other.goto(f"{server.address}/logout")
    other.get_by_role("button", name="Sign out").click()
    expect(other.get_by_text("prints a new one")).to_be_visible()
    tab.get_by_role("link", name="Trends").first.click()

    expect(tab.get_by_role("alert").get_by_text("Your session has ended")).to_be_visible(
        timeout=LONG
    )
    expect(tab.get_by_role("heading", name="Trends")).to_be_hidden()
    tab.get_by_role("link", name="Sign in").click()
    expect(tab).to_have_url(f"{server.address}/login")
    context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_the_sign_in_page_fits_a_telephone_in_the_house_colours(browser, server, scheme):
    context = browser.new_context(viewport={"width": 390, "height": 844}, color_scheme=scheme)
    page, problems = context.new_page(), []
    page.on("console", lambda said: problems.append(said.text))

    page.goto(f"{server.address}/lot?lot=R26-0142")
    expect(page.get_by_role("heading", name="Sign in")).to_be_visible()
    paper = page.evaluate("getComputedStyle(document.body).backgroundColor")

    assert page.url.endswith("/login?next=%2Flot%3Flot%3DR26-0142")
    assert paper == {"light": "rgb(251, 246, 236)", "dark": "rgb(28, 24, 21)"}[scheme]
    assert page.evaluate("document.body.scrollWidth") <= 390
    assert page.evaluate("document.fonts.ready.then(() => document.fonts.check('1rem Asap'))")
    assert problems == []
    context.close()


def _worth_telling(said):
    if said.type != "error" or said.location["url"].endswith(LOOKED_FOR):
        return []
    return [said.text]
