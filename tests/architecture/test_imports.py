"""The arrows between modules, as DEVELOPERS.md draws them."""

import subprocess
import sys

import pytest
from importlinter.cli import EXIT_STATUS_SUCCESS, lint_imports


def test_imports_point_the_way_developers_md_says():
    assert lint_imports(no_cache=True) == EXIT_STATUS_SUCCESS


@pytest.mark.parametrize(
    "module",
    ["spc.charts", "spc.acceptance", "spc.capability", "spc.sweep", "spc.heat", "spc.derivation"],
)
def test_the_core_loads_without_database_or_screen(module):
    code = f"import sys, {module}; print({{'duckdb', 'streamlit', 'altair'}} & sys.modules.keys())"

    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert loaded.stdout.strip() == "set()"


def test_the_command_starts_without_the_screens():
    code = (
        "import sys, dashboard.command.lotheat; print({'streamlit', 'altair'} & sys.modules.keys())"
    )

    loaded = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True
    )

    assert loaded.stdout.strip() == "set()"
