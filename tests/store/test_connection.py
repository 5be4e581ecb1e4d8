import os
import subprocess
import sys
import textwrap
import threading
from concurrent.futures import ThreadPoolExecutor

import duckdb
import pytest

from spc.errors import ChangedSchema, NewerSchema, NotAStore, StoreBusy, StoreError, StoreInUse
from spc.store import Store
from spc.store.connection import Connection
from spc.store.record import audit, rows
from tests.staff import ME

ROW = "L-{lot},{bag},1,2026-03-04 10:00:00,0.1,10,1,5,µmol/L"


def in_another_process(code: str, *arguments: object) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", textwrap.dedent(code), *map(str, arguments)],
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )


def raw(path, statement):
    with duckdb.connect(str(path)) as database:
        database.execute(statement)


@pytest.mark.thorough
def test_twenty_threads_get_only_right_answers(small_store, source_file):
    def work(number):
        content = source_file("sensor", ROW.format(lot=1 + number % 2, bag=number))
        receipt = small_store.receive_bytes(f"{number}.csv", content, by=ME)
        answers = []
        for _ in range(5):
            name, kept = small_store.receipt_bytes(receipt.receipt)
            lot = small_store.lot(f"L-{1 + number % 2}")
            answers.append((name, kept == content, lot.supplier))
        return receipt.stored, set(answers)

    with ThreadPoolExecutor(20) as threads:
        outcomes = list(threads.map(work, range(20)))

    for number, (stored, answers) in enumerate(outcomes):
        assert stored == 1
        assert answers == {(f"{number}.csv", True, ("North Mill", "South Mill")[number % 2])}
    assert len(small_store.results()) == 2 + 20
    assert small_store.verify().ok


def test_the_same_file_handed_in_by_many_at_once_is_stored_once(small_store, source_file):
    content = source_file("sensor", ROW.format(lot=1, bag=1))

    with ThreadPoolExecutor(8) as threads:
        receipts = list(
            threads.map(lambda _: small_store.receive_bytes("a.csv", content, by=ME), range(8))
        )

    assert sorted(one.again for one in receipts) == [False] + [True] * 7
    assert small_store.verify().ok


def test_a_reader_sees_one_state_while_another_writes(small_store, source_file):
    content = source_file("sensor", ROW.format(lot=1, bag=1))
    with small_store._connection.read() as cursor:
        before = cursor.execute("select count(*) from result").fetchone()
        small_store.receive_bytes("a.csv", content, by=ME)
        after = cursor.execute("select count(*) from result").fetchone()

    assert before == after
    assert len(small_store.results()) == 3


def test_a_reader_cannot_write(small_store):
    with (
        pytest.raises(duckdb.TransactionException, match="read-only"),
        small_store._connection.read() as cursor,
    ):
        cursor.execute("delete from result")

    assert len(small_store.results()) == 2


def test_the_same_token_is_not_written_twice(tmp_path):
    connection = Connection(tmp_path / "lots.db")
    times = []

    def work(cursor):
        times.append(1)
        audit.record(cursor, actor="Ines Valbo", action="did", subject="it", detail={})
        return "done"

    outcomes = [connection.write(work, token="once") for _ in range(3)]  # noqa: S106
    connection.close()

    assert outcomes == ["done", None, None]
    assert len(times) == 1


def test_work_that_fails_leaves_nothing(small_store, contents):
    before = contents(small_store)

    def work(cursor):
        cursor.execute("delete from lot")
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        small_store._connection.write(work, token="failed")  # noqa: S106

    assert contents(small_store) == before
    assert small_store._connection.write(lambda _cursor: 1, token="failed") == 1  # noqa: S106


def test_a_write_that_always_meets_another_is_given_up_with_a_sentence(small_store, monkeypatch):
    monkeypatch.setattr("spc.store.connection.time.sleep", lambda _seconds: None)
    tries = []

    def work(_cursor):
        tries.append(1)
        raise duckdb.TransactionException("TransactionContext Error: Conflict on update!")

    with pytest.raises(StoreBusy, match="did not go through after 8 tries"):
        small_store._connection.write(work, token="never")  # noqa: S106

    assert len(tries) == 8


def test_a_second_process_is_told_who_has_the_store_and_what_to_do(small_store):
    outcome = in_another_process(
        """
        import sys
        from spc.errors import StoreInUse
        from spc.store import Store
        try:
            Store.open(sys.argv[1])
        except StoreInUse as problem:
            print(problem)
        """,
        small_store.path,
    )

    assert f"another lotheat (process {os.getpid()}) has the store open" in outcome.stdout
    assert "--store FILE" in outcome.stdout


def test_a_lock_without_a_known_holder_is_told_too(small_store):
    def work(_cursor):
        raise duckdb.IOException("IO Error: Could not set lock on file")

    with pytest.raises(StoreInUse, match="another lotheat has the store open"):
        small_store._connection.write(work, token="x")  # noqa: S106


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("IO Error: No space left on device", "the disk is full; nothing of this write was kept"),
        ("IO Error: broken pipe\nat 7", "cannot be opened or written: IO Error: broken pipe"),
    ],
)
def test_trouble_with_the_disk_is_told_in_words(small_store, text, sentence):
    def work(_cursor):
        raise duckdb.IOException(text)

    with pytest.raises(StoreError, match=sentence):
        small_store._connection.write(work, token="x")  # noqa: S106


def test_a_newer_store_is_refused_and_left_untouched(small_store_file, tmp_path):
    path = tmp_path / "newer.db"
    path.write_bytes(small_store_file.read_bytes())
    raw(path, "insert into schema_step values (9999, 'from the future')")
    before = path.read_bytes()

    with pytest.raises(NewerSchema, match="Install the newer version; nothing was changed"):
        Store.open(path)

    assert path.read_bytes() == before


def test_another_duckdb_file_is_refused_and_left_untouched(tmp_path):
    path = tmp_path / "other.db"
    raw(path, "create table recipe (name varchar)")
    before = path.read_bytes()

    with pytest.raises(NotAStore, match=r"other tables \(recipe\) and no lotheat store"):
        Store.open(path)

    assert path.read_bytes() == before


def test_a_file_that_looks_like_a_store_but_is_not_is_told_in_words(tmp_path):
    path = tmp_path / "odd.db"
    raw(path, "create table schema_step (colour varchar)")

    with pytest.raises(ChangedSchema, match="schema_step is not the one"):
        Store.open(path)


def test_a_text_file_is_refused_and_left_untouched(tmp_path):
    path = tmp_path / "notes.txt"
    path.write_text("Lot,Reading\n" * 500)

    with pytest.raises(NotAStore, match=r"not a lotheat store.*left untouched"):
        Store.open(path)

    assert path.read_text() == "Lot,Reading\n" * 500


def test_a_folder_that_is_not_there_is_made(tmp_path):
    with Store.open(tmp_path / "new" / "place" / "lots.db") as store:
        assert store.lots().empty

    assert (tmp_path / "new" / "place" / "lots.db").exists()


def test_a_place_that_cannot_be_made_is_told_in_words(tmp_path):
    (tmp_path / "file").write_text("in the way")

    with pytest.raises(StoreError, match="--store FILE"):
        Store.open(tmp_path / "file" / "lots.db")


def test_an_empty_store_answers_every_question(tmp_path):
    with Store.open(tmp_path / "lots.db") as store:
        assert store.sweep().points.empty
        assert store.sweep().signals().empty
        assert store.stream_keys() == []
        assert store.verdicts([]) == {}
        assert store.held().empty
        assert store.results().empty
        assert store.verify().ok
        assert store.revision() == (str(tmp_path / "lots.db"), 0)


def test_a_store_opened_again_is_as_it_was_left(small_store_file, tmp_path, contents):
    path = tmp_path / "lots.db"
    path.write_bytes(small_store_file.read_bytes())
    with Store.open(path) as store:
        first = contents(store)
    with Store.open(path) as store:
        assert contents(store) == first


def test_a_closed_store_says_so(small_store_file, tmp_path):
    path = tmp_path / "lots.db"
    path.write_bytes(small_store_file.read_bytes())
    store = Store.open(path)
    store.close()

    with pytest.raises(StoreError):
        store.lots()


@pytest.mark.thorough
def test_a_full_disk_in_the_middle_of_many_writes_loses_and_doubles_nothing(tmp_path):
    """The limit falls on the file after its log was written: the commit stands, the engine dies."""
    outcome = in_another_process(
        """
        import os, resource, signal, sys
        from pathlib import Path
        from spc.store.record import audit
        from spc.store.connection import Connection

        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        free = resource.RLIM_INFINITY
        store = Connection(Path(sys.argv[1]))
        reopen = store._reopen
        def reopened(dead):
            print("reopened", flush=True)
            resource.setrlimit(resource.RLIMIT_FSIZE, (free, free))
            reopen(dead)
        store._reopen = reopened
        resource.setrlimit(resource.RLIMIT_FSIZE, (20_000_000, free))
        for number in range(36):
            content = os.urandom(1_000_000)
            def work(cursor):
                cursor.execute(
                    "insert into receipt values"
                    " (?, '', '', ?, now(), '', '', '', 0, 0, 0, 0, 0, 0, ?)",
                    [str(number), content, audit.upcoming(cursor)],
                )
                audit.record(cursor, actor="a", action="b", subject="c", detail={})
            store.write(work, token=str(number))
        with store.read() as cursor:
            count = "select count(*), count(distinct receipt) from receipt"
            print(cursor.execute(count).fetchone())
        """,
        tmp_path / "lots.db",
    )

    assert outcome.stdout.split("\n")[:2] == ["reopened", "(36, 36)"], outcome.stderr


def test_a_reader_that_meets_a_dead_engine_has_it_opened_again(small_store):
    with pytest.raises(StoreBusy, match="do it again"), small_store._connection.read():
        raise duckdb.FatalException("FATAL Error: database has been invalidated")

    assert len(small_store.lots()) == 2


def test_a_write_that_meets_a_dead_engine_is_done_again_on_a_new_one(small_store):
    first = small_store._connection._database
    tries = []

    def work(cursor):
        tries.append(1)
        if len(tries) == 1:
            raise duckdb.FatalException("FATAL Error: database has been invalidated")
        rows.insert(cursor, "supplier", [{"supplier": "East Mill", "country": ""}])

    small_store._connection.write(work, token="once")  # noqa: S106

    assert small_store._connection._database is not first
    assert [one.supplier for one in small_store.catalogue().suppliers].count("East Mill") == 1


def test_only_the_first_of_many_reopens_the_store(small_store):
    connection = small_store._connection
    dead = connection._database
    threads = [threading.Thread(target=connection._reopen, args=(dead,)) for _ in range(4)]

    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert len(small_store.lots()) == 2
