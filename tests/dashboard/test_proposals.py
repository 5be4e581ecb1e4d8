"""A proposed specification says what was typed, and shows what it would have done."""

import shutil
from dataclasses import replace
from datetime import date

import pytest

from dashboard.frame import session
from spc.answers import specifications
from spc.errors import BadCatalogue
from spc.intake.catalogue import parse
from spc.store import Store
from tests.dashboard.screen import opened

MATERIAL = "cayenne powder"


@pytest.fixture(scope="module")
def catalogue(demo_store):
    return demo_store.catalogue()


@pytest.fixture(scope="module")
def newest(catalogue):
    versions = [one for one in catalogue.specifications if one.material == MATERIAL]
    return max(versions, key=lambda one: one.version)


def text(newest, lines, **other):
    said = {
        "version": newest.version + 1,
        "effective_from": date(2026, 12, 1),
        "signed": ("Mara Quill", "trial"),
    } | other
    return specifications.proposal(MATERIAL, lines=lines, **said)


def test_lines_that_nobody_changed_come_back_as_they_were(catalogue, newest):
    written = text(newest, specifications.lines_table(newest))

    proposed = parse(written, known=catalogue).specifications[0]

    assert proposed.lines == newest.lines
    assert (proposed.version, proposed.effective_from) == (newest.version + 1, "2026-12-01")
    assert (proposed.approved_by, proposed.reason) == ("Mara Quill", "trial")


def test_a_limit_taken_away_is_gone(catalogue, newest):
    lines = specifications.lines_table(newest)
    lines.loc[lines["characteristic"] == "heat", "upper"] = None

    proposed = parse(text(newest, lines), known=catalogue).specifications[0]

    heat = next(line for line in proposed.lines if line.characteristic == "heat")
    assert heat.upper is None
    assert heat.lower == 30_000.0


def test_a_line_without_any_limit_is_refused_in_words(catalogue, newest):
    lines = specifications.lines_table(newest)
    lines.loc[lines["characteristic"] == "moisture", "upper"] = None

    with pytest.raises(BadCatalogue, match="neither a lower nor an upper limit"):
        parse(text(newest, lines), known=catalogue)


def test_what_a_narrower_limit_would_have_done_is_counted_by_supplier(demo_store, newest):
    lots = demo_store.lots()
    last = lots[lots["material"] == MATERIAL].tail(50)
    names = last["lot"].tolist()
    narrow = replace(
        newest,
        lines=tuple(
            replace(line, upper=45_000.0) if line.characteristic == "heat" else line
            for line in newest.lines
        ),
    )

    before = demo_store.verdicts(names, proposed=newest)
    after = demo_store.verdicts(names, proposed=narrow)
    suppliers = dict(zip(names, last["supplier"], strict=True))
    rows = specifications.comparison(suppliers, before, after).to_dict("records")
    moved = specifications.moved(before, after)

    shown = {row["supplier"]: row for row in rows}
    assert shown["all"]["lots"] == 50
    for row in rows:
        for when in ("now", "then"):
            counted = sum(row[f"{word} {when}"] for word in ("accept", "hold", "reject"))
            assert counted == row["lots"]
    assert shown["all"]["reject then"] > shown["all"]["reject now"]
    assert "R26-0146" in moved["lot"].tolist()
    assert (moved["now"] != moved["then"]).all()


@pytest.fixture
def writable(demo_store_file, tmp_path):
    with Store.open(shutil.copy(demo_store_file, tmp_path / "demo.duckdb")) as store:
        session.hold(store)
        yield store


def screen():
    return opened("specifications", material=MATERIAL)


def button(app, label):
    return next(one for one in app.button if one.label.startswith(label))


def fill(app, label, value):
    next(one for one in app.text_input if one.label == label).set_value(value)


@pytest.mark.usefixtures("writable")
def test_an_approval_needs_a_name_and_a_reason():
    app = screen()

    button(app, "Approve version 3").click().run()

    assert not app.exception
    assert "An approval stands with a name and a reason." in [one.value for one in app.error]


def test_an_approved_version_is_in_the_store_with_its_approver(writable):
    app = screen()
    fill(app, "Approved by", "Mara Quill")
    fill(app, "Reason for the change", "yearly review")
    app.run()

    button(app, "Approve version 3").click().run()

    assert not app.exception
    versions = [one for one in writable.catalogue().specifications if one.material == MATERIAL]
    assert max(one.version for one in versions) == 3
    newest = max(versions, key=lambda one: one.version)
    assert (newest.approved_by, newest.reason) == ("Mara Quill", "yearly review")
    assert writable.verify().ok


@pytest.mark.usefixtures("writable")
def test_the_preview_shows_the_last_lots_before_anything_is_approved():
    app = screen()

    button(app, "See what it would have done").click().run()

    assert not app.exception
    assert "No lot would have been judged otherwise." in [one.value for one in app.markdown]
