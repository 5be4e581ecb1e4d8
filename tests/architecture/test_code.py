"""Lint, format and types run with the tests: one command, one verdict."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    "check",
    [
        ["ruff", "check", "."],
        ["ruff", "format", "--check", "."],
        ["mypy"],
    ],
    ids=["lint", "format", "types"],
)
def test_the_code_is_clean(check):
    found = subprocess.run(
        [sys.executable, "-m", *check], cwd=ROOT, capture_output=True, text=True, check=False
    )

    assert found.returncode == 0, found.stdout + found.stderr


def test_no_module_is_longer_than_one_idea():
    modules = [path for folder in ("spc", "dashboard") for path in (ROOT / folder).rglob("*.py")]

    too_long = {path.name: lines for path in modules if (lines := _lines(path)) > 400}

    assert too_long == {}


def test_the_top_level_holds_only_what_it_may():
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "dashboard", "spc", "tests"}
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()

    strangers = {Path(path).parts[0] for path in tracked} - allowed - {"demo_data"}

    assert {name for name in strangers if not name.startswith(".")} == set()


def _lines(path):
    return len(path.read_text(encoding="utf-8").splitlines())
