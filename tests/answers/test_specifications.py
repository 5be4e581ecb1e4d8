"""A proposed specification says what was typed, and shows what it would have done."""

from dataclasses import replace
from datetime import date

import pytest

from spc.answers import specifications
from spc.errors import BadCatalogue
from spc.intake.catalogue import parse

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
        "reason": "trial",
    } | other
    return specifications.proposed_text(MATERIAL, lines=lines, **said)


def test_lines_that_nobody_changed_come_back_as_they_were(catalogue, newest):
    written = text(newest, specifications.lines_table(newest))

    proposed = parse(written, known=catalogue).specifications[0]

    assert proposed.lines == newest.lines
    assert (proposed.version, proposed.effective_from) == (newest.version + 1, "2026-12-01")
    assert (proposed.approved_by, proposed.reason) == ("", "trial")


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
    narrow = replace(
        newest,
        lines=tuple(
            replace(line, upper=45_000.0) if line.characteristic == "heat" else line
            for line in newest.lines
        ),
    )

    effect = specifications.effect_of_proposal(demo_store, newest, narrow, last=50)

    rows = effect.by_supplier().to_dict("records")
    moved = effect.judged_otherwise()
    shown = {row["supplier"]: row for row in rows}
    assert shown["all"]["lots"] == 50
    for row in rows:
        for when in ("now", "then"):
            counted = sum(row[f"{word} {when}"] for word in ("accept", "hold", "reject"))
            assert counted == row["lots"]
    assert shown["all"]["reject then"] > shown["all"]["reject now"]
    assert "R26-0146" in moved["lot"].tolist()
    assert (moved["now"] != moved["then"]).all()
