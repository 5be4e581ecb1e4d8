"""Intake, run without a browser: a file dropped, held rows settled."""

from pathlib import Path

import pytest

import demo_data
from tests.dashboard.screen import field, opened, words
from tests.staff import MY_NAME

NEW = Path(demo_data.__file__).parent / "new" / "2026-11-20_sensor.csv"


def drop(app, name, content):
    (place,) = [one for one in app.get("file_uploader") if one.accept_multiple_files]
    return place.set_value([(name, content, "text/csv")]).run()


def test_a_dropped_file_is_previewed_and_then_taken_in(writable_screens):
    app = drop(opened("intake"), NEW.name, NEW.read_bytes())

    said = words(app)
    assert "45 rows = 43 stored + 2 held + 0 known" in said
    assert "Nothing is stored yet." in said
    assert NEW.name not in writable_screens.receipts()["name"].tolist()

    field(app, "button", "Take in").click().run()

    said = words(app)
    assert not app.exception
    assert "45 rows = 43 stored + 2 held + 0 known" in said
    assert "Nothing is stored yet." not in said
    newest = writable_screens.receipts().iloc[0]
    assert (newest["name"], newest["received_by"]) == (NEW.name, MY_NAME)


@pytest.mark.usefixtures("demo_screens")
def test_a_file_that_no_profile_fits_says_why():
    app = drop(opened("intake"), "strange.csv", b"a,b\n1,2\n")

    assert not app.exception
    assert "no source profile fits its columns" in words(app)


def test_a_refused_file_is_told_after_it_was_taken_in(writable_screens):
    app = drop(opened("intake"), "strange.csv", b"a,b\n1,2\n")

    field(app, "button", "Take in").click().run()

    assert not app.exception
    assert "strange.csv was refused: " in words(app)
    assert "strange.csv" not in writable_screens.receipts()["name"].tolist()


def held_form(app):
    """The first form about held rows: its name, and how many rows it is about."""
    dismiss = next(one for one in app.button if one.label.startswith("Dismiss these "))
    return dismiss.form_id, dismiss


def test_held_rows_are_not_dismissed_without_a_reason(writable_screens):
    before = len(writable_screens.held())
    app = opened("intake")
    _, dismiss = held_form(app)

    dismiss.click().run()

    assert not app.exception
    assert len(app.error) == 1
    assert len(writable_screens.held()) == before


def test_held_rows_are_dismissed_with_a_reason(writable_screens):
    before = len(writable_screens.held())
    app = opened("intake")
    form, dismiss = held_form(app)
    rows = int(dismiss.label.split()[-1])
    field(app, "text_input", "Reason, if you dismiss them", form).set_value("typing errors")

    dismiss.click().run()

    assert not app.exception
    assert "are dismissed" in words(app)
    assert len(writable_screens.held()) == before - rows


def test_checking_a_file_again_reports_what_became_of_its_rows(writable_screens):
    app = opened("intake")
    form, _ = held_form(app)

    field(app, "button", "Check the file again", form).click().run()

    assert not app.exception
    assert "checked again: of " in words(app)
    assert writable_screens.verify().ok
