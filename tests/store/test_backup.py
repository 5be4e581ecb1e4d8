"""A store is copied while it is in use, and made again from a copy that holds."""

import shutil
import threading

import duckdb
import pytest

from spc.errors import NotAStore, StoreError
from spc.store import Store, restore
from tests.staff import ME


def test_a_copy_holds_what_the_store_held_when_it_was_made(small_store, source_file, tmp_path):
    before = small_store.results()
    copy = tmp_path / "kept" / 'it\'s a "copy".duckdb'

    small_store.backup(copy)
    later = source_file("sensor", "L-1,9,1,2026-03-04 12:00:00,0.1,10,10,8.2,µmol/L")
    small_store.receive_bytes("later.csv", later, by=ME)

    with Store.open(copy) as store:
        assert store.results().equals(before)
        assert store.verify().ok
        assert store.receipts().equals(small_store.receipts().iloc[1:].reset_index(drop=True))
    beside = f"{copy.name}.anchor.txt"
    assert sorted(one.name for one in copy.parent.iterdir()) == [copy.name, beside]


@pytest.mark.thorough
def test_copies_made_while_others_write_are_whole(small_store, source_file, tmp_path):
    def write():
        for minute in range(10, 25):
            line = f"L-1,1,1,2026-03-04 08:{minute}:00,0.1,10,10,8.2,µmol/L"
            small_store.receive_bytes(f"{minute}.csv", source_file("sensor", line), by=ME)

    writing = threading.Thread(target=write)
    writing.start()
    copies = [tmp_path / f"{number}.duckdb" for number in range(2)]
    for copy in copies:
        small_store.backup(copy)
    writing.join()

    for copy in copies:
        with Store.open(copy) as store:
            told = store.receipts()
            assert told["stored"].sum() + told["held"].sum() + told["known"].sum() == (
                told["rows"].sum()
            )
            assert store.verify().ok


def test_nothing_is_written_over(small_store, tmp_path):
    kept = tmp_path / "kept.txt"
    kept.write_text("older")

    with pytest.raises(StoreError, match="a file already"):
        small_store.backup(kept)
    with pytest.raises(StoreError, match="a file already"):
        restore(small_store.path, kept)

    assert kept.read_text() == "older"


def test_a_store_is_made_from_a_copy_that_holds(small_store, tmp_path):
    copy, back = tmp_path / "copy.duckdb", tmp_path / "new" / "lots.duckdb"
    small_store.backup(copy)

    outcome = restore(copy, back)

    assert outcome.ok
    with Store.open(back) as store:
        assert store.results().equals(small_store.results())
    assert [one.name for one in back.parent.iterdir()] == [back.name]


def test_a_copy_with_a_changed_value_makes_no_store(small_store, tmp_path):
    copy, back = tmp_path / "copy.duckdb", tmp_path / "lots.duckdb"
    small_store.backup(copy)
    with duckdb.connect(str(copy)) as tampered:
        tampered.execute("update result set value_low = 2 * value_low")

    outcome = restore(copy, back)

    assert not outcome.ok
    assert not back.exists()


def test_what_is_no_copy_is_refused_and_left_alone(small_store, tmp_path):
    text, other = tmp_path / "notes.txt", tmp_path / "other.duckdb"
    text.write_text("no store")
    with duckdb.connect(str(other)) as database:
        database.execute("create table weather (day date)")
    back = tmp_path / "lots.duckdb"

    for wrong in (text, other):
        with pytest.raises(NotAStore, match="lotheat backup"):
            restore(wrong, back)
    with pytest.raises(StoreError, match="no such file"):
        restore(tmp_path / "nowhere.duckdb", back)
    open_file = tmp_path / "open.duckdb"
    shutil.copy(text, open_file)
    (tmp_path / "open.duckdb.wal").write_text("log")
    with pytest.raises(StoreError, match="in use"):
        restore(open_file, back)

    assert not back.exists()
    assert text.read_text() == "no store"
    assert small_store.verify().ok
