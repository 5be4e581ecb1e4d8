"""Two people in two browsers: what one of them may decide alone, and what needs both."""

import re
import shutil

import pytest
from playwright.sync_api import expect

from spc.store import Store
from tests import staff
from tests.browser.conftest import Server

LONG = 60_000
REJECTED, HELD, CONCEDED, ROUTINE = "R26-0139", "R26-0146", "R26-0140", "R26-0138"


@pytest.fixture
def served(demo_store_file, tmp_path):
    """A server of the demo's store whose people are registered."""
    path = tmp_path / "lots.db"
    with Store.open(shutil.copy(demo_store_file, path)) as store:
        staff.enter(store, "mara", "ines", "oskar")
    running = Server(path)
    try:
        running.start()
        yield running
    finally:
        running.stop()


class Person:
    """Somebody at a browser of their own."""

    def __init__(self, browser, server, sign_in):
        self.server, self.sign_in, self.first = server, sign_in, True
        self.page = browser.new_context(viewport={"width": 1280, "height": 1000}).new_page()
        self.page.goto(f"{server.address}/login")
        self.page.get_by_label("Name").fill(sign_in)
        self.page.get_by_label("Secret").fill(staff.secret_of(sign_in))
        self.page.get_by_role("button", name="Sign in").click()

    def see(self, place, text):
        """Open a page and wait for a text on it."""
        self.page.goto(f"{self.server.address}{place}")
        self.reads(text)

    def reads(self, text):
        expect(self.page.get_by_text(text).first).to_be_visible(timeout=LONG)

    def press(self, name):
        button = self.page.get_by_role("button", name=name, exact=True)
        expect(button).to_be_enabled(timeout=LONG)
        button.click()

    def choose(self, decision):
        self.page.get_by_text(decision, exact=True).first.click()

    def type(self, label, text):
        field = self.page.get_by_label(label, exact=True)
        # While a form changes, its old fields stand beside the new ones for a moment.
        expect(field).to_have_count(1, timeout=LONG)
        expect(field).to_be_visible(timeout=LONG)
        field.fill(text)
        field.press("Tab")

    def sign(self, secret=""):
        """Give the secret in the dialog; the name too, the first time."""
        frame = self.page.frame_locator("iframe[src*='/sign']")
        expect(frame.get_by_label("Your secret")).to_be_visible(timeout=LONG)
        if frame.get_by_label("Name you sign in with").count():
            frame.get_by_label("Name you sign in with").fill(self.sign_in)
        frame.get_by_label("Your secret").fill(secret or staff.secret_of(self.sign_in))
        frame.get_by_label("Your secret").press("Enter")
        return frame

    def gives(self, sign_in, label):
        """A second person's secret, at this person's screen."""
        frame = self.page.frame_locator("iframe[src*='/sign']")
        expect(frame.get_by_label(label)).to_be_visible(timeout=LONG)
        frame.get_by_label("Name they sign in with").fill(sign_in)
        frame.get_by_label(label).fill(staff.secret_of(sign_in))
        frame.get_by_label(label).press("Enter")


def reject(mara):
    """One click, the reason from the failing line; a wrong secret signs nothing."""
    mara.see(f"/lot?lot={REJECTED}", "You sign as Mara Quill")
    mara.press("Reject…")
    refused = mara.sign("odd guess of a secret").get_by_text("Nothing was signed")
    expect(refused).to_be_visible(timeout=LONG)
    mara.sign()
    mara.reads(f"Signed by Mara Quill: rejected, {REJECTED}")


def accept_from_today(mara):
    """A ticked routine lot, with one secret."""
    mara.see("/", "routine")
    mara.page.get_by_text("routine").first.click()
    mara.page.get_by_text(re.compile(f"{ROUTINE}:")).click()
    mara.press("Accept 1 lot…")
    mara.sign()
    mara.reads(f"Signed by Mara Quill: accepted, {ROUTINE}")


def hold_under_a_stale_tab(mara, ines):
    """What was signed meanwhile refuses a click, and the reason typed stays."""
    ines.see(f"/lot?lot={HELD}", "You sign as Ines Valbo")
    ines.reads("no food-safety verdict")
    mara.see(f"/lot?lot={HELD}", "You sign as Mara Quill")
    mara.choose("on hold")
    mara.press("Hold…")
    mara.reads("the signature has no reason")
    mara.type("Reason", "metal found in bag 3")
    mara.press("Hold…")
    mara.sign()
    mara.reads(f"Signed by Mara Quill: on hold, {HELD}")
    ines.press("Accept…")
    ines.reads("metal found in bag 3")
    expect(ines.page.get_by_label("Reason", exact=True)).to_have_value("conforms")


def release_over_the_hold(mara, ines):
    """The second person signs later, from a Today of their own."""
    ines.see(f"/lot?lot={HELD}", "Held by Mara Quill")
    ines.type("Reason", "bag 3 was taken out")
    ines.press("Accept…")
    waits = ines.sign().get_by_text("waits for a second person")
    expect(waits).to_be_visible(timeout=LONG)
    ines.press("Close; they sign later")
    ines.reads("until then nothing has changed")
    mara.see("/", "What waits for your signature")
    mara.reads("Ines Valbo asks for a second signature")
    mara.press("Sign…")
    mara.sign()
    mara.reads(f"Signed by Ines Valbo and Mara Quill: accepted, {HELD}")


def concede_together(ines):
    """The second person signs at the same screen."""
    ines.see(f"/lot?lot={CONCEDED}", "You sign as Ines Valbo")
    ines.choose("accepted under concession")
    ines.type("For which use, product or quantity", "mild sauce only")
    ines.type("Reason", "used up within eight weeks")
    for part, number in (("year", "2027"), ("month", "01"), ("day", "31")):
        ines.page.get_by_role("spinbutton", name=f"{part}, Holds until").press_sequentially(number)
    ines.page.keyboard.press("Tab")
    ines.press("Accept under concession…")
    ines.sign()
    ines.gives("mara", "Their secret")
    ines.reads(f"Signed by Ines Valbo and Mara Quill: accepted under concession, {CONCEDED}")


def correct(mara, ines):
    """A wrong decision is corrected by two; both stay."""
    ines.see(f"/lot?lot={ROUTINE}", "This decision was wrong…")
    ines.page.get_by_text("This decision was wrong…").click()
    ines.choose("on hold")
    ines.type("Reason", "the bags were mixed up in the store room")
    ines.press("Correct it…")
    waits = ines.sign().get_by_text("waits for a second person")
    expect(waits).to_be_visible(timeout=LONG)
    ines.press("Close; they sign later")
    mara.see(f"/lot?lot={ROUTINE}", "Ines Valbo asks for a second signature")
    mara.press("Sign…")
    mara.sign()
    mara.reads(f"Signed by Ines Valbo and Mara Quill: corrected: on hold, {ROUTINE}")
    mara.reads("counts no longer")


def test_a_morning_of_two_people(browser, served):
    mara, ines = (Person(browser, served, one) for one in ("mara", "ines"))

    reject(mara)
    accept_from_today(mara)
    hold_under_a_stale_tab(mara, ines)
    release_over_the_hold(mara, ines)
    concede_together(ines)
    correct(mara, ines)

    served.stop()
    with Store.open(served.store) as store:
        decided = {
            lot: store.dispositions(lot).iloc[-1].to_dict()
            for lot in (REJECTED, ROUTINE, HELD, CONCEDED)
        }
        assert {lot: one["decision"] for lot, one in decided.items()} == {
            REJECTED: "rejected",
            ROUTINE: "on hold",
            HELD: "accepted",
            CONCEDED: "accepted under concession",
        }
        assert decided[CONCEDED]["second_person"] == "Mara Quill"
        assert store.verify().ok
