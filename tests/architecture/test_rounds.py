"""The quick round leaves much out, but no package as a whole."""

import ast
from pathlib import Path

import pytest

from tests import rounds

ROOT = Path(__file__).parents[2]


def packages():
    """The packages that hold something: those of the dashboard, those of spc, and the demo's."""
    below = [folder for top in ("dashboard", "spc") for folder in (ROOT / top).iterdir()]
    return {
        ".".join(folder.relative_to(ROOT).parts)
        for folder in (*below, ROOT / "demo_data")
        if (folder / "__init__.py").is_file()
    }


def imported(path):
    """What a file names in its imports, modules and what is taken from them."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (one.name for one in node.names)
        elif isinstance(node, ast.ImportFrom):
            yield from (f"{node.module}.{one.name}" for one in node.names)


def test_the_quick_round_asks_something_of_every_package(request):
    collected = request.config.stash[rounds.COLLECTED]
    if {item.path for item in collected} != set(rounds.TESTS.rglob("test_*.py")):
        pytest.skip("only a run of all files can tell")

    named = {
        name for path in {item.path for item in rounds.quick(collected)} for name in imported(path)
    }

    assert {
        package
        for package in packages()
        if not any(f"{name}.".startswith(f"{package}.") for name in named)
    } == set()
