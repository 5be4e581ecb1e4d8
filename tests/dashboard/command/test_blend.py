"""`lotheat blend`, run in this process."""

import json
import shutil

import pytest
from typer.testing import CliRunner

from dashboard.command.lotheat import app as commands


def lotheat(*said, store):
    return CliRunner().invoke(commands, [*map(str, said), "--store", str(store)])


ORDER = ("blend", "--material", "cayenne powder", "--batch-kg", 500, "--heat", 42_000)


def test_the_command_prints_a_recipe_for_programs(counted_file, tmp_path):
    copy = shutil.copy(counted_file, tmp_path / "lots.db")

    done = lotheat(*ORDER, "--within", "12%", "--json", store=copy)

    told = json.loads(done.stdout)
    assert done.exit_code == 0
    assert sum(one["kg"] for one in told["portions"]) == pytest.approx(500.0)
    assert told["predicted"][0]["odds"] >= 0.95
    assert len(told["portions"]) <= 4


def test_the_command_refuses_a_window_that_is_no_share_in_words(counted_file, tmp_path):
    copy = shutil.copy(counted_file, tmp_path / "lots.db")

    done = lotheat(*ORDER, "--within", "wide", store=copy)

    assert "no half width" in str(done.exception)
