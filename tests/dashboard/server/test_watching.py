"""A watched folder never takes half a file, and survives a restart."""

import os
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from dashboard.server.watching import BEFORE, REFUSED, TAKEN, Folder, bringing, watched
from spc.errors import NotAllowed, RegisterRefused, ServerRefused
from spc.store.people import Grant
from tests.staff import ME, enter, mara, signed


def good(source_file, minute=10):
    return source_file("sensor", f"L-1,1,1,2026-03-04 08:{minute}:00,0.1,10,10,8.2,µmol/L")


def names(folder, inside):
    return sorted(one.name for one in (folder / inside).iterdir())


def test_a_file_that_still_grows_is_left_alone(small_store, source_file, tmp_path):
    folder, content = Folder(tmp_path, small_store, by=ME), good(source_file)
    file = tmp_path / "growing.csv"
    file.write_bytes(content[:40])
    assert folder.look() == 0
    file.write_bytes(content)
    assert folder.look() == 0

    assert folder.look() == 1
    assert [one.split("_", 1)[1] for one in names(tmp_path, TAKEN)] == ["growing.csv"]
    assert small_store.receipts()["name"].iloc[0] == "growing.csv"


def test_a_file_rewritten_to_the_same_size_waits_again(small_store, source_file, tmp_path):
    folder, file = Folder(tmp_path, small_store, by=ME), tmp_path / "a.csv"
    file.write_bytes(good(source_file, 10))
    folder.look()
    file.write_bytes(good(source_file, 11))
    os.utime(file, ns=(1, 1))

    assert folder.look() == 0
    assert folder.look() == 1


def test_unfinished_and_hidden_names_are_not_touched(small_store, source_file, tmp_path):
    folder = Folder(tmp_path, small_store, by=ME)
    for name in (".hidden.csv", "a.csv.part", "b.tmp"):
        (tmp_path / name).write_bytes(good(source_file))

    assert [folder.look() for _ in range(3)] == [0, 0, 0]


def test_what_a_stopped_server_was_taking_in_is_taken_in_at_the_next_start(
    small_store, source_file, tmp_path
):
    Folder(tmp_path, small_store, by=ME)
    (tmp_path / BEFORE / "left.csv").write_bytes(good(source_file))

    assert Folder(tmp_path, small_store, by=ME).look() == 1
    assert len(names(tmp_path, TAKEN)) == 1
    assert names(tmp_path, BEFORE) == []


def test_the_same_file_twice_is_known_and_overwrites_nothing(small_store, source_file, tmp_path):
    folder = Folder(tmp_path, small_store, by=ME)
    for _ in range(2):
        (tmp_path / "same.csv").write_bytes(good(source_file))
        folder.look()
        folder.look()

    assert len(names(tmp_path, TAKEN)) == 2
    assert (small_store.receipts()["name"] == "same.csv").sum() == 1


def test_a_refused_file_is_kept_with_the_reason(small_store, tmp_path):
    folder = Folder(tmp_path, small_store, by=ME)
    (tmp_path / "odd.csv").write_bytes(b"a,b\n1,2\n")
    folder.look()
    folder.look()

    assert names(tmp_path, REFUSED) == ["odd.csv", "odd.csv.why.txt"]


def test_where_people_sign_in_a_watched_folder_is_a_sender_s(small_store, source_file, tmp_path):
    enter(small_store, "mara")
    until = datetime(2099, 1, 1)  # noqa: DTZ001 - the store keeps UTC without zone
    grant = Grant(sender="balance 3", scope=("receive files",), until=until)
    with pytest.raises(ServerRefused, match="needs a sender"):
        bringing(small_store, "")
    with pytest.raises(RegisterRefused):
        small_store.people.issue_token(grant, by=mara(small_store), reason="too long")
    grant = replace(grant, until=datetime.now(UTC).replace(tzinfo=None) + timedelta(days=9))
    key = small_store.people.issue_token(grant, by=mara(small_store), reason="sends files")
    (tmp_path / "a.csv").write_bytes(good(source_file))

    folder = Folder(tmp_path, small_store, by=bringing(small_store, key))
    folder.look()
    folder.look()

    assert small_store.receipts()["received_by"].iloc[0] == "balance 3"


def test_a_folder_that_nobody_may_bring_files_from_is_not_watched(small_store, tmp_path):
    enter(small_store, "mara", "vera")
    vera = signed(small_store, "vera")

    with pytest.raises(NotAllowed), watched(tmp_path, small_store, by=vera):
        pass
