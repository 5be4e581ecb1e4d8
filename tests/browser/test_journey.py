"""A morning at the desk: a file comes in, a lot is opened and signed, and the record stands."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import expect

import demo_data
from spc.store import Store

NEW_FILE = Path(demo_data.__file__).parent / "new" / "2026-11-20_sensor.csv"
LOT = "R26-0142"
LONG = 30_000


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


@pytest.mark.parametrize("width", [1440, 390])
@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_every_screen_shows_itself_without_an_error(browser, looked_at, width, scheme):
    context = browser.new_context(viewport={"width": width, "height": 900}, color_scheme=scheme)
    page = context.new_page()
    looked_at.enter(page)
    problems = []
    page.on("pageerror", lambda problem: problems.append(str(problem)))

    for address, title in (
        ("/", "20 November 2026"),
        ("/lots", "Lots"),
        ("/lot?lot=R26-0146", "Lot R26-0146"),
        ("/trends", "Trends"),
        ("/suppliers", "Suppliers"),
        ("/blends", "Blends"),
        ("/methods", "Methods"),
        ("/intake", "Intake"),
        ("/people", "People"),
    ):
        page.goto(f"{looked_at.address}{address}")
        expect(page.get_by_role("heading", name=title, exact=True)).to_be_visible(timeout=LONG)
        expect(page.get_by_text("no food-safety verdict")).to_be_visible(timeout=LONG)
        assert page.locator("[data-testid=stException]").count() == 0
        assert page.evaluate("document.body.scrollWidth") <= width

    context.close()
    assert problems == []


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
