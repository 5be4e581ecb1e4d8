"""A morning at the desk: a file comes in, a lot is opened and signed, and the record stands."""

import re
from pathlib import Path

from playwright.sync_api import expect

import demo_data
from spc.store import Store

NEW_FILE = Path(demo_data.__file__).parent / "new" / "2026-11-20_sensor.csv"
LOT = "R26-0142"
TREND = "material=cayenne+powder&supplier=North+Fen+Spices&characteristic=heat&method=rapid+sensor"
# Address, heading, and how many charts are drawn at least.
SCREENS = (
    ("/", "20 November 2026", 0),
    ("/lots", "Lots", 0),
    ("/lot?lot=R26-0146", "Lot R26-0146", 1),
    (f"/trends?{TREND}", "Trends", 1),
    ("/suppliers?material=cayenne+powder", "Suppliers", 4),
    ("/blends", "Blends", 1),
    ("/specifications?material=cayenne+powder", "Specifications", 0),
    ("/methods", "Methods", 1),
    ("/intake", "Intake", 0),
    ("/people", "People", 0),
)
WIDE, NARROW = {"width": 1440, "height": 900}, {"width": 390, "height": 900}
DARK = "rgb(28, 24, 21)"
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


def accept(page, why):
    """What the evidence speaks for, confirmed by the computer's user."""
    reason = page.get_by_label("Reason", exact=True)
    expect(reason).to_have_value("conforms", timeout=LONG)
    reason.fill(why)
    reason.press("Tab")
    page.get_by_role("button", name="Accept…").click()
    frame = page.frame_locator("iframe[src*='/sign']")
    expect(frame.get_by_text("one person, no second signature")).to_be_visible(timeout=LONG)
    frame.get_by_role("button", name="Confirm").click()
    expect(page.get_by_text(f"accepted, {LOT}.").first).to_be_visible(timeout=LONG)


def test_a_file_comes_in_a_lot_is_signed_and_the_record_survives_a_restart(browser, server):
    page = server.opened(browser)

    page.goto(f"{server.address}/lot?lot={LOT}")
    expect(page.get_by_text("No result that may decide yet for heat").first).to_be_visible(
        timeout=LONG
    )

    page.goto(f"{server.address}/intake")
    page.locator("input[type=file]").set_input_files(NEW_FILE)
    expect(page.get_by_text("Nothing is stored yet")).to_be_visible(timeout=LONG)
    page.get_by_role("button", name="Take in").click()
    expect(page.get_by_text("Nothing is stored yet")).to_be_hidden(timeout=LONG)
    expect(page.get_by_text("45 rows = 43 stored + 2 held + 0 known")).to_be_visible(timeout=LONG)

    page.goto(f"{server.address}/lot?lot={LOT}")
    expect(page.get_by_text("all 6 lines conform").first).to_be_visible(timeout=LONG)
    accept(page, "All lines conform; heat measured today.")

    server.stop()
    server.start()
    server.enter(page)
    page.goto(f"{server.address}/lot?lot={LOT}")
    expect(page.get_by_text(re.compile("by os:")).first).to_be_visible(timeout=LONG)
    expect(page.get_by_text("All lines conform; heat measured today.")).to_be_visible()
    page.close()
    server.stop()

    with Store.open(server.store) as store:
        assert store.dispositions(LOT)["decision"].tolist() == ["accepted"]
        assert store.verify().ok


def test_every_screen_shows_itself_without_an_error_wide_and_narrow_light_and_dark(
    browser, looked_at
):
    context = browser.new_context(viewport=WIDE)
    context.add_init_script(WATCH)
    page, problems = context.new_page(), []
    page.on("pageerror", lambda problem: problems.append(str(problem)))
    page.on("console", lambda said: problems.extend(_worth_telling(said)))
    looked_at.enter(page)

    for address, title, charts in SCREENS:
        page.set_viewport_size(WIDE)
        page.emulate_media(color_scheme="light")
        page.goto(f"{looked_at.address}{address}")
        expect(page.get_by_role("heading", name=title, exact=True)).to_be_visible(timeout=LONG)
        expect(page.get_by_text("no food-safety verdict")).to_be_visible(timeout=LONG)
        drawn = page.locator("[data-testid=stVegaLiteChart]")
        if charts:
            expect(drawn.nth(charts - 1)).to_be_attached(timeout=LONG)
        for place in range(drawn.count()):
            expect(drawn.nth(place).locator("canvas, svg").first).to_be_attached(timeout=LONG)
        assert _fits(page, WIDE), address

        page.set_viewport_size(NARROW)
        page.emulate_media(color_scheme="dark")
        expect(page.locator("body")).to_have_css("background-color", DARK, timeout=LONG)
        expect(page.get_by_role("heading", name=title, exact=True)).to_be_visible(timeout=LONG)
        assert _fits(page, NARROW), address

        assert page.locator("[data-testid=stException]").count() == 0, address
        assert set(page.evaluate("window.violations")) <= {PROBE}, address
    assert problems == []
    context.close()


def test_an_address_of_a_lot_that_does_not_exist_says_what_to_do(browser, looked_at):
    page = looked_at.opened(browser)

    page.goto(f"{looked_at.address}/lot?lot=R26-0l46")

    expect(page.get_by_text("There is no lot 'R26-0l46' in the store.")).to_be_visible(timeout=LONG)
    expect(page.get_by_text("Did you mean")).to_be_visible()
    page.close()


def test_the_server_keeps_to_itself_and_says_so_in_its_headers(browser, looked_at):
    page = looked_at.opened(browser)
    asked = []
    page.on("request", lambda request: asked.append(request.url))

    answer = page.goto(looked_at.address)
    expect(page.get_by_role("heading", name="20 November 2026")).to_be_visible(timeout=LONG)

    assert answer.headers["x-frame-options"] == "DENY"
    assert answer.headers["x-content-type-options"] == "nosniff"
    own = (looked_at.address, "data:", "blob:")
    assert {url for url in asked if not url.startswith(own)} == set()
    page.close()


def _fits(page, size):
    return page.evaluate("document.body.scrollWidth") <= size["width"]


def _worth_telling(said):
    if said.type != "error" or said.location["url"].endswith(LOOKED_FOR):
        return []
    return [said.text]
