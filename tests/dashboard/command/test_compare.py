"""`lotheat compare` and `lotheat report supplier`, on the demo's planted stories."""

import json
import shutil
from pathlib import Path

import pytest
from typer.testing import CliRunner

from dashboard.command.lotheat import app
from dashboard.command.terminal import Exit


@pytest.fixture(scope="module")
def demo_copy(demo_store_file, tmp_path_factory):
    return Path(shutil.copy(demo_store_file, tmp_path_factory.mktemp("commands") / "demo.duckdb"))


def lotheat(*given, store):
    return CliRunner().invoke(app, [*map(str, given), "--store", str(store)])


def test_compare_tells_a_program_the_numbers_of_the_screen(demo_copy):
    told = json.loads(lotheat("compare", "cayenne powder", "--json", store=demo_copy).stdout)

    by_name = {one["supplier"]: one for one in told["suppliers"]}
    assert by_name["Brindlemoor Trading"]["bias"] == pytest.approx(0.09, abs=0.02)
    assert by_name["North Fen Spices"]["per_lot"] == pytest.approx(0.04, abs=0.01)
    assert by_name["Eastlode Mills"]["crop_change"] is None
    assert len(told["pairs"]) == 6
    assert "North Fen Spices drifts" in told["answer"]


def test_compare_prints_a_table_of_eighty_columns(demo_copy, monkeypatch):
    monkeypatch.setenv("COLUMNS", "80")

    done = lotheat("compare", "chilli flakes", store=demo_copy)

    assert done.exit_code == Exit.DONE
    assert max(map(len, done.stdout.splitlines())) <= 80
    assert "Dunmarsh Ingredients  22 " in done.stdout
    assert "mostly rounded to steps of 500 SHU" in " ".join(done.stdout.split())


def test_compare_by_another_characteristic(demo_copy):
    told = lotheat(
        "compare", "cayenne powder", "--characteristic", "moisture", "--json", store=demo_copy
    )

    assert json.loads(told.stdout)["unit"] == "g/100 g"


@pytest.mark.parametrize(
    ("material", "characteristic", "said"),
    [
        ("cayenne powdr", "heat", "Did you mean cayenne powder"),
        ("cayenne powder", "charm", "no comparable characteristic 'charm'"),
    ],
)
def test_what_cannot_be_compared_is_named(demo_copy, material, characteristic, said):
    done = lotheat("compare", material, "--characteristic", characteristic, store=demo_copy)

    assert done.exit_code != Exit.DONE
    assert said in str(done.exception)


@pytest.mark.parametrize(("name", "begins"), [("card.pdf", b"%PDF"), ("card.XLSX", b"PK")])
def test_a_scorecard_is_written_in_the_kind_its_name_asks_for(demo_copy, tmp_path, name, begins):
    done = lotheat(
        "report", "supplier", "Dunmarsh Ingredients", "--out", tmp_path / name, store=demo_copy
    )

    assert done.exit_code == Exit.DONE, done.output
    assert (tmp_path / name).read_bytes().startswith(begins)


def test_a_kind_that_nobody_writes_is_refused(demo_copy, tmp_path):
    out = tmp_path / "card.doc"

    done = lotheat("report", "supplier", "Dunmarsh Ingredients", "--out", out, store=demo_copy)

    assert done.exit_code == Exit.USAGE
    assert not out.exists()
