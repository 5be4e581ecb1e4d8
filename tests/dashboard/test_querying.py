"""A laboratory's database is asked, never changed, and its answer is kept as it was."""

import json
import shutil
import sqlite3
import subprocess
import sys
from datetime import datetime

import pytest

from dashboard.querying import snapshot
from spc.errors import IntakeError

NOW = datetime(2026, 11, 20, 7, 30)  # noqa: DTZ001 - only a name is made of it


@pytest.fixture
def laboratory(tmp_path):
    """A database of another program, with what the small store's sensor profile asks for."""
    path = tmp_path / "laboratory.db"
    with sqlite3.connect(path) as database:
        database.execute("create table r (lot, bag, no, at, portion, buffer, cell, reading, unit)")
        row = ("L-1", 1, 1, "2026-03-04 08:10:00", 0.1, 10, 10, "8.2", "µmol/L")
        database.executemany("insert into r values (?,?,?,?,?,?,?,?,?)", [row])
    database.close()
    return f"sqlite:///{path}"


QUERY = (
    'select lot as "Lot", bag as "Bag", no as "No", at as "Measured", portion as "Portion g",'
    ' buffer as "Buffer mL", cell as "Cell", reading as "Reading", unit as "Unit" from r'
)


def test_the_answer_of_a_query_is_received_like_any_file(laboratory, small_store):
    answer = snapshot(laboratory, QUERY, asked_at=NOW)

    receipt = small_store.receive_bytes(answer.name, answer.content, by="Ines Valbo")

    assert answer.name == "query of laboratory.db 2026-11-20 073000.csv"
    assert (answer.rows, receipt.stored, receipt.held) == (1, 1, 0)
    assert small_store.receipt_bytes(receipt.receipt)[1] == answer.content


def test_a_null_is_an_empty_cell_and_commas_and_quotes_survive(laboratory):
    answer = snapshot(laboratory, "select null as a, 'x,\"y\"' as b", asked_at=NOW)

    assert answer.content.decode() == 'a,b\n,"x,""y"""\n'


def test_the_command_reports_what_became_of_every_row(laboratory, small_store_file, tmp_path):
    store = shutil.copy(small_store_file, tmp_path / "lots.duckdb")
    words = ["query", laboratory, QUERY, "--store", store, "--by", "Ines Valbo"]

    done = subprocess.run(
        [sys.executable, "-m", "dashboard.command", *map(str, words)],
        capture_output=True,
        text=True,
        check=False,
    )

    assert done.returncode == 0, done.stderr
    assert json.loads(done.stdout)["stored"] == 1


@pytest.mark.parametrize("query", ["delete from r", "drop table r", "", "pragma user_version"])
def test_only_questions_are_asked(laboratory, query):
    with pytest.raises(IntakeError, match="does not begin with select"):
        snapshot(laboratory, query, asked_at=NOW)


@pytest.mark.parametrize(
    ("address", "query", "said"),
    [
        ("sqlite:////nowhere/at/all.db", "select 1", "query failed"),
        ("laboratory", "select 1", "cannot be reached"),
        ("strange://host/db", "select 1", "cannot be reached"),
        (None, "select missing from r", "query failed"),
    ],
)
def test_what_cannot_be_asked_is_refused_with_what_to_do(laboratory, address, query, said):
    with pytest.raises(IntakeError, match=said):
        snapshot(address or laboratory, query, asked_at=NOW)


def test_an_answer_beyond_the_largest_file_is_refused(laboratory, monkeypatch):
    monkeypatch.setattr("dashboard.querying.LARGEST_MB", 0.00001)

    with pytest.raises(IntakeError, match="larger than"):
        snapshot(laboratory, QUERY, asked_at=NOW)
