"""The record on Today: when it was checked, by whom, what was wrong, and what runs by itself."""

from datetime import datetime

import pytest

from dashboard.frame import session, upkeep
from dashboard.frame.upkeep import Run, Told
from dashboard.server import jobs
from dashboard.server.jobs import Keeping
from dashboard.today import blocks, words
from tests.dashboard import screen
from tests.dashboard.screen import field, opened


def at(hour):
    return datetime(2027, 3, 4, hour)  # noqa: DTZ001 - UTC without zone


def run(hour, *, good=True, by="", said="nothing is wrong: 3 audit entries and 9 rows checked."):
    return Run(began=at(hour), ended=at(hour), by=by, good=good, said=said)


def told(*runs, job=upkeep.VERIFY, busy=False):
    return Told(job=job, when="every day at 02:00", upcoming=at(23), runs=runs, busy=busy)


ANCHOR = told(run(3, said="3 entries told in anchors.txt."), job=upkeep.ANCHOR)


def test_it_says_when_the_record_was_checked_and_by_whom_and_where_its_anchor_is():
    said = words.verified(told(run(9, by="Mara Quill"), run(2)), ANCHOR, anchors="in a folder")

    assert said == (
        "Last verified 4 March 2027, 09:00 UTC, asked for by Mara Quill. Nothing is wrong: 3 audit"
        " entries and 9 rows checked. The last anchor, of 4 March 2027, 03:00 UTC, is kept in a"
        " folder."
    )


def test_before_the_first_check_it_says_when_that_is():
    said = words.verified(told(), told(job=upkeep.ANCHOR), anchors="in a folder")

    assert said == "It is verified every day at 02:00, next 4 March 2027, 23:00 UTC."
    assert words.wrong(told()) == ""
    assert words.verified(told(busy=True), ANCHOR, anchors="").startswith(
        "The record is being verified."
    )


def test_a_fault_is_an_alarm_until_a_check_finds_nothing():
    fault = run(4, good=False, said="the bytes of march.csv are not the ones received.")

    assert "the bytes of march.csv are not the ones received." in words.wrong(told(fault))
    assert words.wrong(told(run(5), fault)) == ""


def test_the_last_failure_stays_beside_the_last_run():
    failed = run(3, good=False, said="No space <left>.")

    said = blocks.jobs([told(run(4), failed, job="back up"), ANCHOR])

    assert "<b>Back up</b>, every day at 02:00, next 4 March 2027, 23:00 UTC." in said
    assert "It last failed 4 March 2027, 03:00 UTC: failed: No space &lt;left&gt;." in said
    assert said.count("<li>") == 2


@pytest.fixture
def kept(small_store):
    """The schedule of a small store that the screens show."""
    session.hold(small_store)
    schedule = jobs.schedule(small_store, Keeping())
    upkeep.hold(schedule)
    yield schedule
    upkeep.release()


def test_whoever_looks_has_the_record_verified_and_sees_what_came_of_it(kept):
    today = opened("today")
    assert "It is verified every day at 02:00" in screen.words(today)

    field(today, "button", "Verify now").click()
    today.run()
    assert "The record is being verified." in screen.words(today)
    assert field(today, "button", "Verify now").disabled
    kept.look()
    today.run()

    said = screen.words(today)
    assert ", asked for by " in said
    assert "ines. Nothing is wrong:" in said
    assert "is kept beside the store" in said
    assert not field(today, "button", "Verify now").disabled


@pytest.mark.usefixtures("demo_screens")
def test_without_a_server_nothing_is_promised():
    assert "The record" not in [one.value for one in opened("today").subheader]
