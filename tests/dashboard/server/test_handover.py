"""A second process hands its files to the running server, and nobody meets a lock."""

import getpass
import http.client
import json
import os
import re
import shutil
import stat
import time
from dataclasses import replace
from pathlib import Path

import pytest

from dashboard.server import handover
from dashboard.server.handover import BACKUP, HEALTH, RECEIVE, VERIFY
from dashboard.server.routes import OPENAPI
from dashboard.server.runs import Runs, place
from spc.errors import IntakeError, NotKnown
from spc.intake.readers.limits import LARGEST_MB
from spc.store import Store
from tests.dashboard.gate.visits import Visitor, free_port
from tests.dashboard.typed import lotheat
from tests.forked import Forked
from tests.staff import MY_NAME

PORT = free_port()


def waited(store, process):
    for _ in range(900):
        found = handover.running(store)
        if found is not None:
            return found
        if process.poll() is not None:
            break
        time.sleep(0.1)
    raise AssertionError(process.stderr.read())


@pytest.fixture(scope="module")
def served(small_store_file, tmp_path_factory):
    """A served store, its folder that is watched, and where its server is."""
    folder = tmp_path_factory.mktemp("served")
    store, watch = folder / "lots.duckdb", folder / "drop"
    shutil.copy(small_store_file, store)
    words = ["serve", "--store", store, "--port", PORT, "--watch", watch, "--quiet", 0.5]
    process = Forked("dashboard.command.lotheat", *words)
    try:
        yield store, watch, waited(store, process)
    finally:
        process.stop()
    assert not store.with_name("lots.duckdb.server.json").exists()
    with Store.open(store) as closed:
        assert closed.verify().ok


def sensor(source_file, minute):
    return source_file("sensor", f"L-1,1,1,2026-03-04 08:{minute}:00,0.1,10,10,8.2,µmol/L")


def test_receive_beside_a_running_server_reports_the_receipt(served, source_file, tmp_path):
    store, *_ = served
    file = tmp_path / "beside.csv"
    file.write_bytes(sensor(source_file, 10))

    done = lotheat("receive", file, "--store", store, "--json")

    told = json.loads(done.stdout)
    assert done.returncode == 0
    assert (told["rows"], told["stored"], told["held"]) == (1, 1, 0)
    assert told["receipts"][0]["received_by"] == MY_NAME


def test_what_the_server_refuses_is_refused_with_its_reason(served):
    *_, server = served

    with pytest.raises(IntakeError, match="no source profile"):
        handover.hand_over(server, "odd.csv", b"a,b\n1,2\n", profile=None)


def test_held_rows_come_back_with_their_reasons(served, source_file):
    *_, server = served
    row = "L-9,1,1,2026-03-04 08:00:00,0.1,10,10,8.2,µmol/L"

    receipt, held = handover.hand_over(server, "held.csv", source_file("sensor", row), profile=None)

    assert receipt.held == 1
    assert held[0]["code"] == "unknown-lot"


def test_a_served_store_is_copied_and_made_again(served, tmp_path):
    store, *_ = served
    copy, back = tmp_path / "copy.duckdb", tmp_path / "back.duckdb"

    made = lotheat("backup", copy, "--store", store)
    again = lotheat("backup", copy, "--store", store)
    restored = lotheat("restore", copy, "--store", back)

    assert (made.returncode, again.returncode, restored.returncode) == (0, 4, 0)
    assert "nothing was overwritten" in again.stderr
    with Store.open(back) as found:
        assert found.lots()["lot"].tolist() == ["L-1", "L-2"]
    assert not list(store.parent.glob("*.copy"))


def test_the_record_is_verified_beside_a_running_server_as_without_one(served, tmp_path):
    store, *_ = served
    anchors = tmp_path / "anchors.txt"

    first = lotheat("verify", "--store", store)
    anchors.write_text(first.stdout.split("anchor: ")[1])
    again = json.loads(lotheat("verify", "--store", store, "--against", anchors, "--json").stdout)
    anchors.write_text("2026-03-04T08:00:00Z entries 1 head " + "0" * 64 + "\n")
    other = lotheat("verify", "--store", store, "--against", anchors)
    anchors.write_text("")
    empty = lotheat("verify", "--store", store, "--against", anchors)
    anchors.write_text("no key")
    no_key = lotheat("verify", "--store", store, "--key", anchors, "--against", anchors)

    assert (first.returncode, other.returncode) == (0, 1)
    assert "Nothing is wrong." in first.stdout
    assert (again["ok"], len(again["anchors"])) == (True, 1)
    assert "knows another audit entry 1" in other.stdout
    assert (empty.returncode, no_key.returncode) == (3, 3)
    assert "there is no anchor in it" in empty.stderr
    assert "no public Ed25519 key" in no_key.stderr


def test_every_check_beside_a_server_is_kept_with_who_asked(served):
    store, *_ = served

    lotheat("verify", "--store", store)

    newest, *_ = Runs(place(store)).of("verify the record")
    assert (newest.by, newest.good) == (getpass.getuser(), True)
    assert newest.said.startswith("nothing is wrong: ")


def test_a_server_keeps_an_anchor_of_its_own_from_the_start(served):
    store, *_ = served
    kept = store.with_name("lots.duckdb.anchors.txt")

    for _ in range(100):
        if kept.exists() and kept.read_text():
            break
        time.sleep(0.1)

    assert lotheat("verify", "--store", store, "--against", kept).returncode == 0
    assert stat.S_IMODE(kept.stat().st_mode) == 0o600


def test_what_runs_by_itself_is_told_to_who_may_look_and_to_nobody_else(served):
    store, _, server = served
    shown = {"Authorization": f"Bearer {server.token}"}

    told = [
        json.loads(Visitor(PORT).get(HEALTH, **more).body)
        for more in ({}, {"Authorization": "Bearer guess"}, shown)
    ]
    listed = json.loads(lotheat("runs", "--store", store, "--json").stdout)

    assert told[:2] == [{"ok": True}] * 2
    assert [one["job"] for one in told[2]["runs"]] == ["verify the record", "keep an anchor"]
    # A check that found something is told beside the newest one.
    assert {one["job"] for one in listed} == {"keep an anchor", "verify the record"}
    assert listed[0]["said"].endswith("entries told in lots.duckdb.anchors.txt.")


def test_a_stranger_gets_no_copy(served, tmp_path):
    *_, server = served
    stranger = replace(server, token="guess")  # noqa: S106

    with pytest.raises(NotKnown, match="this token opens nothing"):
        handover.fetch_copy(stranger, tmp_path / "copy.duckdb")

    assert not list(tmp_path.iterdir())


def test_a_sender_without_the_token_is_turned_away(served, source_file):
    *_, server = served
    stranger = replace(server, token="guess")  # noqa: S106

    with pytest.raises(NotKnown, match="this token opens nothing"):
        handover.hand_over(stranger, "x.csv", sensor(source_file, 11), profile=None)


def test_a_file_without_a_name_is_a_bad_request(served):
    *_, server = served
    connection = http.client.HTTPConnection(server.address, server.port)

    connection.request("POST", RECEIVE, b"x", {"Authorization": f"Bearer {server.token}"})

    assert connection.getresponse().status == 400
    connection.close()


def test_a_body_beyond_the_largest_file_is_not_read_to_its_end(served):
    *_, server = served
    part = b"x" * 1_000_000

    def endless():
        for _ in range(LARGEST_MB + 1):
            yield part

    connection = http.client.HTTPConnection(server.address, server.port)
    connection.request(
        "POST",
        f"{RECEIVE}?name=big.csv",
        endless(),
        {"Authorization": f"Bearer {server.token}"},
    )

    assert connection.getresponse().status == 413
    connection.close()


def test_the_routes_describe_themselves(served):
    *_, server = served
    connection = http.client.HTTPConnection(server.address, server.port)
    connection.request("GET", OPENAPI)

    told = json.loads(connection.getresponse().read())

    connection.close()
    assert told["openapi"].startswith("3.1")
    assert {"/healthz", RECEIVE, BACKUP, VERIFY} == set(told["paths"])
    refs = set(re.findall(r"#/components/schemas/(\w+)", json.dumps(told)))
    assert refs <= set(told["components"]["schemas"])


def test_only_the_owner_can_read_the_token(served):
    store, *_ = served

    mode = store.with_name("lots.duckdb.server.json").stat().st_mode

    assert stat.S_IMODE(mode) == 0o600


def test_what_is_put_into_the_watched_folder_is_taken_in_and_moved_aside(served, source_file):
    _, watch, _ = served
    (watch / "good.csv").write_bytes(sensor(source_file, 12))
    (watch / "odd.csv").write_bytes(b"a,b\n1,2\n")
    for _ in range(150):
        if list((watch / "taken").iterdir()) and list((watch / "refused").iterdir()):
            break
        time.sleep(0.1)

    assert [one.name.split("_", 1)[1] for one in (watch / "taken").iterdir()] == ["good.csv"]
    assert "no source profile" in (watch / "refused" / "odd.csv.why.txt").read_text()


def test_what_a_dead_server_left_behind_does_not_stop_anyone(small_store_file, tmp_path):
    store = Path(shutil.copy(small_store_file, tmp_path / "lots.duckdb"))
    told = {"address": "127.0.0.1", "port": 1, "token": "old", "name": "a", "process": os.getpid()}
    store.with_name("lots.duckdb.server.json").write_text(json.dumps(told))

    assert handover.running(store) is None
