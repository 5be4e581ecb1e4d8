"""`lotheat specifications`: a store begins, and its versions are approved at a terminal."""

import json

import pytest
from typer.testing import CliRunner

from dashboard.command.lotheat import app
from dashboard.command.terminal import Exit
from spc.store import Store
from tests.staff import ME


@pytest.fixture
def lotheat(tmp_path, small_sources):
    """Runs the command on a store that has just received its catalogue."""
    path = tmp_path / "lots.db"
    with Store.open(path) as store:
        store.receive_bytes("c.toml", small_sources["catalogue.toml"].encode(), by=ME)

    def run(*words, typed="", verb="specifications"):
        given = [verb, *words, "--store", str(path)]
        return CliRunner().invoke(app, given, input=typed, env={"COLUMNS": "200"})

    return run


def listed(lotheat):
    return json.loads(lotheat("list", "--json").stdout)


def test_an_approval_shows_what_it_changes_and_is_asked_for(lotheat):
    declined = lotheat("approve", "--reason", "first load", typed="n\n")
    kept = listed(lotheat)
    done = lotheat("approve", "cayenne powder", "--reason", "first load", typed="y\n")

    assert "heat, new: requirement average" in declined.stdout
    assert "No lot would be judged otherwise." in declined.stdout
    assert [one["subject"] for one in kept["waiting"]] == ["specification 1 of cayenne powder"]
    assert done.exit_code == Exit.DONE
    assert "by one person" in done.stderr
    assert [one["one_person"] for one in listed(lotheat)["approved"]] == [True]


def test_what_is_turned_down_waits_no_longer_and_is_listed_with_its_reason(lotheat):
    kept = lotheat("turn-down", "cayenne powder", "--reason", "too narrow", typed="n\n")
    done = lotheat("turn-down", "cayenne powder", "--reason", "too narrow", "--yes")

    assert "turned down" not in kept.stderr
    assert (done.exit_code, listed(lotheat)["waiting"]) == (Exit.DONE, [])
    assert "specification 1 of cayenne powder: turned down" in done.stderr
    assert [one["reason"] for one in listed(lotheat)["turned_down"]] == ["too narrow"]
    assert ": too narrow" in lotheat("list").stdout


def test_what_was_in_force_before_the_first_day_is_taken_in_when_it_is_signed(lotheat):
    begun = lotheat("first-day", "2026-11-01", verb="people")

    assert begun.exit_code == Exit.DONE, begun.stderr
    told = " ".join(lotheat("list").stdout.split())
    assert "from before the record, as received (approved by Mara Quill)" in told
    assert listed(lotheat)["waiting"] == []
    assert "nothing waits" in lotheat("approve", "--reason", "again").stderr
