"""What the documents say is what the code does."""

import importlib
import inspect
import re
from pathlib import Path
from typing import Any, cast

import pytest
from typer.main import get_command

from dashboard.command.lotheat import app
from dashboard.command.terminal import Exit
from spc.charts import RULES

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PUBLIC = (
    "spc.heat",
    "spc.units",
    "spc.digits",
    "spc.derivation",
    "spc.sweep",
    "spc.charts",
    "spc.acceptance",
    "spc.capability",
    "spc.compare",
    "spc.blend",
    "spc.answers",
)


def test_ci_runs_the_test_command_of_the_readme():
    commands = [
        line.strip()
        for line in (ROOT / ".ci" / "run").read_text(encoding="utf-8").splitlines()
        if "pytest" in line and not line.startswith("#")
    ]

    assert len(commands) == 1
    assert commands[0] in README


COMMANDS = cast("Any", get_command(app)).commands


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_the_readme_names_every_command(name):
    assert f"lotheat {name}" in README


@pytest.mark.parametrize("name", sorted(COMMANDS))
def test_every_command_ends_its_help_with_an_example(name):
    command = COMMANDS[name]

    assert command.epilog.startswith(f"Example: lotheat {name}")


@pytest.mark.parametrize("code", list(Exit))
def test_the_readme_explains_every_exit_code(code):
    assert re.search(rf"\| `{int(code)}` \|", README)


@pytest.mark.parametrize("rule", sorted(RULES))
def test_the_guide_lists_every_run_rule_with_its_source(rule):
    assert f"| {rule} |" in DEVELOPERS


@pytest.mark.parametrize("picture", sorted(re.findall(r"\]\((\.pictures/[^)]+)\)", README)))
def test_every_picture_of_the_readme_is_there(picture):
    assert (ROOT / picture).is_file()


def _functions():
    for name in PUBLIC:
        module = importlib.import_module(name)
        names = getattr(module, "__all__", None) or [n for n in vars(module) if n[0] != "_"]
        for each in names:
            thing = getattr(module, each)
            if inspect.isfunction(thing) and thing.__module__.startswith("spc"):
                yield pytest.param(thing, id=f"{name}.{each}")


@pytest.mark.parametrize("function", list(_functions()))
def test_every_public_computation_says_what_it_takes_and_gives(function):
    text = inspect.getdoc(function) or ""

    assert "Parameters\n----------" in text
    assert "Returns\n-------" in text


@pytest.mark.parametrize(
    "path",
    sorted(
        set(re.findall(r"`((?:spc|dashboard|tests|demo_data)/[a-z_/]+(?:\.py|/))`", DEVELOPERS))
    ),
)
def test_every_module_that_the_guide_names_is_there(path):
    assert (ROOT / path).exists()
