"""The command as people and programs use it: its output and its exit code."""

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import duckdb
import pytest

import demo_data
from dashboard.command.terminal import Exit
from spc.store import Store
from tests.dashboard import typed
from tests.staff import ME

DEMO = Path(demo_data.__file__).parent


@pytest.fixture
def demo_copy(demo_store_file, tmp_path):
    copy = tmp_path / "demo.duckdb"
    shutil.copy(demo_store_file, copy)
    return copy


@pytest.fixture(scope="module")
def looked_at(demo_store_file, tmp_path_factory):
    """A copy for those who only look."""
    return Path(shutil.copy(demo_store_file, tmp_path_factory.mktemp("looked-at") / "demo.duckdb"))


def lotheat(*words, store):
    return typed.lotheat(*words, "--store", store)


def in_a_process(*words, store):
    """The command in a process of its own, as a terminal starts it."""
    return subprocess.run(
        [
            *(sys.executable, "-m", "dashboard.command.lotheat", *map(str, words)),
            *("--store", str(store)),
        ],
        capture_output=True,
        text=True,
        check=False,
        env={**os.environ, "COLUMNS": "200"},
        cwd=store.parent,
    )


def test_receive_tells_a_program_what_became_of_every_row(demo_copy):
    done = in_a_process("receive", DEMO / "new", "--json", store=demo_copy)

    told = json.loads(done.stdout)
    assert done.returncode == Exit.DONE
    assert (told["rows"], told["stored"], told["held"], told["known"]) == (45, 43, 2, 0)
    assert {row["code"] for row in told["receipts"][0]["held_rows"]} == {
        "missing-dilution",
        "unknown-lot",
    }


def test_a_profile_is_proposed_and_the_store_left_as_it_was(demo_copy, tmp_path):
    (tmp_path / "new lab.csv").write_bytes(b"Lot,Moisture %\nR26-0140,9.7\n")
    before = demo_copy.read_bytes()

    done = lotheat("propose", tmp_path / "new lab.csv", store=demo_copy)

    assert done.returncode == Exit.DONE
    assert done.stdout.startswith("# Proposed from new lab.csv.")
    assert 'reading = "Moisture %"' in done.stdout
    assert "questions to answer in it" in done.stderr
    assert demo_copy.read_bytes() == before


def test_receiving_again_knows_every_row(demo_copy):
    lotheat("receive", DEMO / "new", store=demo_copy)

    told = json.loads(lotheat("receive", DEMO / "new", "--json", store=demo_copy).stdout)

    assert (told["rows"], told["stored"], told["held"], told["known"]) == (45, 0, 0, 45)


def test_a_file_nobody_can_read_is_refused_and_the_others_are_taken(demo_copy, tmp_path):
    strange = tmp_path / "strange.csv"
    strange.write_text("a,b\n1,2\n", encoding="utf-8")

    done = lotheat("receive", strange, DEMO / "new", "--json", store=demo_copy)

    told = json.loads(done.stdout)
    assert done.returncode == Exit.REFUSED
    assert told["stored"] == 43
    assert "no source profile fits its columns" in told["refused"][0]["reason"]


def test_review_tells_every_waiting_lot_with_its_reasons(looked_at):
    told = json.loads(lotheat("review", "--json", store=looked_at).stdout)["lots"]

    by_lot = {one["lot"]: one for one in told}
    assert [one["received_at"] for one in told] == sorted(one["received_at"] for one in told)
    assert by_lot["R26-0139"]["recommendation"] == "reject"
    assert by_lot["R26-0140"]["recommendation"] == "hold"
    assert by_lot["R26-0141"]["recommendation"] == "accept"
    for one in told:
        assert one["sentence"]
        assert {"characteristic", "outcome", "probability", "reason"} <= one["lines"][0].keys()
        assert isinstance(one["flags"], list)


def test_review_is_read_in_paragraphs_that_fill_the_terminal(looked_at):
    done = lotheat("review", "R26-0139", store=looked_at)

    head, *sentence = done.stdout.rstrip().splitlines()
    assert done.returncode == Exit.DONE
    assert head.startswith("R26-0139: reject (chilli flakes of Eastlode Mills, received")
    assert sentence[0].startswith("  Reject: aflatoxin B1")
    assert len(sentence) < 5


def test_a_lot_that_is_not_there_is_said_with_its_nearest_names(looked_at):
    done = lotheat("review", "R26-O139", store=looked_at)

    assert done.returncode == Exit.STORE
    assert "Did you mean" in done.stderr


def test_sweep_finds_the_drift(looked_at):
    told = json.loads(lotheat("sweep", "--json", store=looked_at).stdout)

    drift = {
        signal["lot"]
        for signal in told["signals"]
        if signal["supplier"] == "North Fen Spices" and signal["material"] == "cayenne powder"
    }
    assert {"R26-0137", "R26-0146"} <= drift


def test_verify_is_content_with_an_honest_store(looked_at):
    done = lotheat("verify", "--json", store=looked_at)

    told = json.loads(done.stdout)
    assert done.returncode == Exit.DONE
    assert told["ok"]
    assert told["faults"] == []
    assert told["checked"]["values"] > 8_000


def test_verify_ends_with_1_and_names_the_lot_when_a_value_was_changed(demo_copy):
    import duckdb  # noqa: PLC0415 - the forger's tool

    with duckdb.connect(str(demo_copy)) as forger:
        forger.execute("update result set value_low = 1, value_high = 1 where lot = 'R26-0141'")

    done = lotheat("verify", "--json", store=demo_copy)

    told = json.loads(done.stdout)
    assert done.returncode == Exit.FAULTS
    assert not told["ok"]
    assert any("R26-0141" in fault for fault in told["faults"])


def test_verify_tells_which_anchors_the_store_holds(demo_copy, tmp_path):
    anchors = tmp_path / "anchors.txt"
    with Store.open(demo_copy) as store:
        anchors.write_text(store.anchor().line + "\n", encoding="utf-8")
        store.attach("R26-0141", name="a.txt", content=b"a", note="", by=ME)

    done = lotheat("verify", "--against", anchors, store=demo_copy)

    assert done.returncode == Exit.DONE
    assert "1 entry since." in done.stdout
    assert re.search(r"^anchor: \S+Z entries \d+ head [0-9a-f]{64}$", done.stdout, re.MULTILINE)


def test_verify_finds_a_store_that_does_not_hold_an_anchor(looked_at, tmp_path):
    anchors = tmp_path / "anchors.txt"
    with Store.open(looked_at) as store:
        line = store.anchor().line
    anchors.write_text(line.replace("entries ", "entries 9"), encoding="utf-8")

    done = lotheat("verify", "--against", anchors, "--json", store=looked_at)

    told = json.loads(done.stdout)
    assert done.returncode == Exit.FAULTS
    assert "entries were cut off" in told["faults"][0]


def test_verify_names_what_was_planted_in_a_file(demo_copy):
    with duckdb.connect(str(demo_copy)) as forger:
        forger.execute("create macro sha256(x) as 'forged'")

    done = lotheat("verify", store=demo_copy)

    assert done.returncode == Exit.FAULTS
    assert "fault: there is a macro sha256 that no lotheat makes." in done.stdout


def test_verify_says_apart_that_a_store_could_not_be_checked(tmp_path):
    text = tmp_path / "notes.duckdb"
    text.write_text("no store")

    assert lotheat("verify", store=text).returncode == Exit.STORE
    assert lotheat("verify", "--against", tmp_path / "none", store=text).returncode == Exit.REFUSED


def test_a_second_process_is_told_what_to_do(looked_at):
    with Store.open(looked_at):
        done = in_a_process("verify", store=looked_at)

    assert done.returncode == Exit.STORE
    assert "has the store open" in done.stderr
    assert "stop it first" in done.stderr


def test_looking_does_not_make_a_store(tmp_path):
    nowhere = tmp_path / "nowhere.duckdb"

    done = lotheat("review", store=nowhere)

    assert done.returncode == Exit.STORE
    assert "there is no store yet" in done.stderr
    assert not nowhere.exists()


def test_a_demo_that_was_stopped_is_made_whole_and_ends_as_told(begun_demo_file, tmp_path):
    shutil.copy(begun_demo_file, tmp_path / "demo.duckdb")

    done = lotheat("demo", "--no-serve", store=tmp_path / "demo.duckdb")

    assert done.returncode == Exit.DONE
    with Store.open(tmp_path / "demo.duckdb") as store:
        assert len(store.lots()) == 400
        assert (store.lots()["supplier"] == "own blend").sum() == 3
        assert store.verify().ok


def test_a_store_is_copied_and_made_again_by_commands(small_store_file, source_file, tmp_path):
    own, copy, back = (tmp_path / name for name in ("own.duckdb", "copy.duckdb", "back.duckdb"))
    shutil.copy(small_store_file, own)
    row = "L-9,1,1,2026-03-04 08:00:00,0.1,10,10,8.2,µmol/L"
    with Store.open(own) as store:
        store.receive_bytes("sensor.csv", source_file("sensor", row), by=ME)

    kept = lotheat("backup", copy, store=own)
    with Store.open(copy) as store:
        held = len(store.held())
    restored = lotheat("restore", copy, store=back)
    twice = lotheat("restore", copy, store=back)

    assert (kept.returncode, restored.returncode) == (Exit.DONE, Exit.DONE)
    assert twice.returncode == Exit.STORE
    assert "nothing was overwritten" in twice.stderr
    with Store.open(back) as store:
        assert len(store.held()) == held > 0
