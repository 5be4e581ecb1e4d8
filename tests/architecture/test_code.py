"""Lint, format and types run with the tests: one command, one verdict."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    "check",
    [
        pytest.param(["ruff", "check", "."], id="lint"),
        pytest.param(["ruff", "format", "--check", "."], id="format"),
        pytest.param(["mypy"], id="types", marks=pytest.mark.thorough),
    ],
)
def test_the_code_is_clean(check):
    found = subprocess.run(
        [sys.executable, "-m", *check], cwd=ROOT, capture_output=True, text=True, check=False
    )

    assert found.returncode == 0, found.stdout + found.stderr


@pytest.mark.parametrize(("folder", "most"), [("spc", 400), ("dashboard", 300)])
def test_no_module_is_longer_than_one_idea(folder, most):
    modules = (ROOT / folder).rglob("*.py")

    too_long = {path.name: lines for path in modules if (lines := _lines(path)) > most}

    assert too_long == {}


def test_a_newcomer_to_the_dashboard_reads_a_dozen_names():
    faces = {"__init__.py", "__pycache__", "py.typed", "static"}

    rooms = {path.name for path in (ROOT / "dashboard").iterdir()} - faces

    assert len(rooms) <= 17, sorted(rooms)


def test_no_folder_of_the_core_is_a_heap():
    folders = [path for path in (ROOT / "spc").rglob("*") if path.is_dir()]

    heaps = {path.name: count for path in folders if (count := _modules(path)) > 24}

    assert heaps == {}


def test_the_top_level_holds_only_what_it_may():
    allowed = {"README.md", "DEVELOPERS.md", "pyproject.toml", "dashboard", "spc", "tests"}
    tracked = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=True
    ).stdout.splitlines()

    strangers = {Path(path).parts[0] for path in tracked} - allowed - {"demo_data"}

    assert {name for name in strangers if not name.startswith(".")} == set()


def _modules(folder):
    return sum(path.name != "__init__.py" for path in folder.glob("*.py"))


def _lines(path):
    return len(path.read_text(encoding="utf-8").splitlines())
