"""A watched folder takes in whole files and what comes after them, and drops nothing in silence."""

import os
import threading
import time
from dataclasses import replace
from datetime import UTC, datetime, timedelta

import openpyxl  # type: ignore[import-untyped]
import pytest

from dashboard.frame.folder_board import Board
from dashboard.server.folder.contents import BEFORE, REFUSED, TAKEN
from dashboard.server.folder.watched_folder import Folder
from dashboard.server.watching import bringing, watched
from spc.errors import NotAllowed, RegisterRefused, ServerRefused
from spc.store import Store
from spc.store.people import Grant
from tests.staff import ME, enter, mara, secret_of, signed

QUIET_S = 30.0
LONGER_S = 10 * QUIET_S
STAYS_S = 60 * QUIET_S
DAY_S = 86_400.0


class Watch:
    """A folder watched by a clock that the test moves."""

    def __init__(self, place, store, *, by=ME):
        self.place, self.store, self.by = place, store, by
        self.board, self.now = Board(), 1000.0
        self.before = set(store.receipts()["receipt"])
        self.folder = self._begun()

    def _begun(self):
        return Folder(
            self.place,
            self.store,
            by=self.by,
            quiet_s=QUIET_S,
            clock=lambda: self.now,
            board=self.board,
        )

    def put(self, name, content):
        (self.place / name).write_bytes(content)
        self.folder.look()

    def after(self, seconds):
        """What is dealt with when so much time has passed."""
        self.now += seconds
        return self.folder.look()

    def start_anew(self):
        self.board = Board()
        self.folder = self._begun()

    def names(self, inside):
        return sorted(one.name for one in (self.place / inside).iterdir())

    def copies(self):
        """The bytes put aside, by the name of their receipt."""
        return {one.name.split("_")[0]: one.read_bytes() for one in (self.place / TAKEN).iterdir()}

    def said(self):
        return {one.name: one.what for one in self.board.notices}

    def counts(self):
        """Of every receipt of rows since, oldest first: rows, stored, held, known."""
        told = self.store.receipts().query("kind == 'rows'").iloc[::-1]
        told = told[~told["receipt"].isin(self.before)]
        return told[["rows", "stored", "held", "known"]].to_numpy().tolist()


@pytest.fixture
def watch(small_store, tmp_path):
    place = tmp_path / "in"
    place.mkdir()
    return Watch(place, small_store)


@pytest.fixture
def rows(source_file):
    """A file of the sensor, with so many readings."""

    def made(count, first=1):
        return source_file(
            "sensor",
            *(
                f"L-1,{bag},1,2026-03-04 08:{bag + 10}:00,0.1,10,10,{8 + bag / 100:.2f},µmol/L"
                for bag in range(first, first + count)
            ),
        )

    return made


def test_a_file_is_taken_in_once_nothing_was_written_for_the_quiet_time(watch, rows):
    watch.put("growing.csv", rows(1))
    assert watch.after(QUIET_S - 1) == 0
    watch.put("growing.csv", rows(2))
    assert watch.after(QUIET_S - 1) == 0
    assert watch.said() == {"growing.csv": "It waits until nothing is written to it any more."}

    assert watch.after(1) == 1
    assert watch.counts() == [[2, 2, 0, 0]]
    assert watch.said() == {}


def test_an_instrument_with_a_row_every_six_seconds_loses_none(watch, rows):
    whole = rows(6)
    ends = [place + 1 for place, sign in enumerate(whole) if sign == ord("\n")]
    for end in ends:
        (watch.place / "run.csv").write_bytes(whole[:end])
        assert watch.after(6) == 0

    assert watch.after(QUIET_S) == 1
    assert watch.counts() == [[6, 6, 0, 0]]
    assert list(watch.copies().values()) == [whole]


def test_what_a_program_appends_by_name_after_the_quiet_time_is_received_as_what_came_after(
    watch, rows
):
    watch.put("run.csv", rows(2))
    watch.after(QUIET_S)
    with (watch.place / "run.csv").open("ab") as file:
        file.write(rows(3)[len(rows(2)) :])
    watch.folder.look()

    assert watch.after(QUIET_S) == 1
    assert watch.counts() == [[2, 2, 0, 0], [3, 1, 0, 2]]
    assert sorted(watch.copies().values()) == sorted([rows(2), rows(3)])


def test_what_a_program_writes_to_a_file_it_holds_open_is_received_wherever_the_file_went(
    watch, rows
):
    with (watch.place / "run.csv").open("wb", buffering=0) as file:
        file.write(rows(1))
        watch.folder.look()
        watch.after(QUIET_S)
        watch.after(STAYS_S)
        assert not (watch.place / "run.csv").exists()
        file.write(rows(2)[len(rows(1)) :])
    watch.folder.look()

    assert watch.after(QUIET_S) == 1
    assert watch.counts() == [[1, 1, 0, 0], [2, 1, 0, 1]]


def test_the_copy_put_aside_is_the_bytes_that_were_received(watch, rows):
    watch.put("a.csv", rows(2))
    watch.after(QUIET_S)
    watch.put("a.csv", rows(4))
    watch.after(QUIET_S)
    watch.after(STAYS_S)

    copies = watch.copies()

    assert len(copies) == 2
    assert {one: watch.store.receipt_bytes(one)[1] for one in copies} == copies


def test_a_pause_inside_a_number_stores_no_half_of_it(watch, source_file):
    whole = source_file("sensor", "L-1,1,1,2026-03-04 08:10:00,0.1,10,10,10.55,µmol/L")
    half = whole[: whole.index(b"10.55") + 1]
    watch.put("run.csv", half)
    assert watch.after(QUIET_S) == 0
    assert watch.said()["run.csv"].endswith("It waits longer for the rest.")
    watch.put("run.csv", whole)

    assert watch.after(QUIET_S) == 1
    assert watch.store.results("L-1").query("method == 'rapid sensor'")[
        "reading_text"
    ].tolist() == ["10.55"]


def test_of_a_last_line_without_an_end_a_person_is_asked_and_nothing_is_dropped(watch, rows):
    watch.put("odd.csv", rows(2).rstrip(b"\n"))

    assert [watch.after(QUIET_S), watch.after(LONGER_S), watch.after(DAY_S)] == [0, 0, 0]
    (notice,) = watch.board.notices
    assert notice.asked
    assert "'L-1,2,1,2026-03-04 08:12:00,0.1,10,10,8.02,µmol/L' has no end" in notice.what
    assert watch.counts() == []
    assert (watch.place / "odd.csv").exists()


def test_a_person_says_that_a_last_line_is_whole_and_the_receipt_keeps_who(watch, rows):
    watch.put("odd.csv", rows(2).rstrip(b"\n"))
    watch.after(LONGER_S)
    enter(watch.store, "mara")

    key = watch.store.people.sign_in("mara", secret=secret_of("mara"))
    watch.board.answer("odd.csv", by=watch.store.people.session(key))

    assert watch.after(1) == 1
    newest = watch.store.receipts().iloc[0]
    assert (newest["received_by"], newest["stored"]) == ("Mara Quill", 2)


def test_what_a_person_called_whole_is_not_what_it_became_since(watch, rows):
    watch.put("odd.csv", rows(2).rstrip(b"\n"))
    watch.after(LONGER_S)
    watch.board.answer("odd.csv", by=ME)
    (watch.place / "odd.csv").write_bytes(rows(3)[:-9])

    assert [watch.after(1), watch.after(QUIET_S), watch.after(LONGER_S)] == [0, 0, 0]


def test_a_place_for_copies_that_somebody_deleted_is_made_again(watch, rows):
    (watch.place / TAKEN).rmdir()
    watch.put("a.csv", rows(1))

    assert watch.after(QUIET_S) == 1
    assert len(watch.names(TAKEN)) == 1


def test_a_workbook_that_does_not_open_yet_waits_and_is_refused_only_in_the_end(watch, tmp_path):
    book = openpyxl.Workbook()
    book.save(tmp_path / "book.xlsx")
    content = (tmp_path / "book.xlsx").read_bytes()
    watch.put("book.xlsx", content[:-100])

    assert watch.after(QUIET_S) == 0
    assert watch.said()["book.xlsx"].startswith("It does not open: ")
    assert watch.after(LONGER_S) == 1
    assert watch.names(REFUSED) == ["book.xlsx", "book.xlsx.why.txt"]


def test_a_workbook_that_is_open_in_a_spreadsheet_program_waits_longer(watch, rows):
    for mark in ("~$open.csv", ".~lock.open.csv#"):
        (watch.place / mark).write_bytes(b"somebody")
    watch.put("open.csv", rows(1))

    assert watch.after(QUIET_S) == 0
    assert watch.said() == {
        "open.csv": "It is open in a spreadsheet program, and waits longer.",
        "~$open.csv": "It says that open.csv is open in a spreadsheet program.",
        ".~lock.open.csv#": "It says that open.csv is open in a spreadsheet program.",
    }
    assert watch.after(LONGER_S) == 1


def test_whatever_is_not_taken_in_is_told_with_what_to_do(watch, rows, tmp_path):
    (watch.place / "march").mkdir()
    (tmp_path / "elsewhere.csv").write_bytes(rows(1))
    (watch.place / "link.csv").symlink_to(tmp_path / "elsewhere.csv")
    os.mkfifo(watch.place / "pipe.csv")
    for name in (".hidden.csv", "copy.csv.part", "old.csv~", "~$gone.xlsx"):
        (watch.place / name).write_bytes(rows(1))

    assert [watch.after(DAY_S) for _ in range(3)] == [0, 0, 0]
    told = watch.said()
    assert set(told) == {
        "march", "link.csv", "pipe.csv", ".hidden.csv", "copy.csv.part", "old.csv~", "~$gone.xlsx",
    }  # fmt: skip
    assert told["march"].endswith("Put the files here themselves.")
    assert told["~$gone.xlsx"].endswith("it can be deleted.")
    assert len(watch.names(".")) == 7 + len((TAKEN, REFUSED, BEFORE))


def test_a_file_whose_name_begins_like_the_stores_is_taken_in(small_store, rows):
    beside = Watch(small_store.path.parent, small_store)
    beside.put(f"{small_store.path.stem}.csv", rows(1))
    beside.put(f"{small_store.path.name}.csv", rows(2))

    assert beside.after(QUIET_S) == 2
    assert small_store.path.exists()


def test_a_clock_set_back_and_a_time_in_the_future_change_nothing(watch, rows):
    watch.put("future.csv", rows(1))
    os.utime(watch.place / "future.csv", (4_000_000_000, 4_000_000_000))
    watch.put("past.csv", rows(2))
    os.utime(watch.place / "past.csv", (1, 1))
    watch.folder.look()

    assert watch.after(QUIET_S) == 2


def test_a_file_rewritten_to_the_same_size_and_time_waits_again(watch, rows):
    file = watch.place / "a.csv"
    watch.put("a.csv", rows(1, first=1))
    os.utime(file, ns=(1, 1))
    watch.folder.look()
    watch.now += QUIET_S
    file.write_bytes(rows(1, first=2))
    os.utime(file, ns=(1, 1))

    assert watch.folder.look() == 0
    assert watch.after(QUIET_S) == 1


def test_a_failing_file_ends_neither_the_watching_nor_the_look(watch, rows):
    class Failing(Store):
        def receive_bytes(self, name, content, profile=None, *, by):
            if name == "a.csv":
                raise RecursionError
            return super().receive_bytes(name, content, profile, by=by)

    watch.store.__class__ = Failing
    watch.put("a.csv", rows(1))
    watch.put("b.csv", rows(2))

    assert watch.after(QUIET_S) == 1
    assert watch.said()["a.csv"].startswith("It could not be taken in: RecursionError.")
    assert watch.after(LONGER_S) == 0
    assert (watch.place / "a.csv").read_bytes() == rows(1)


@pytest.mark.skipif(os.geteuid() == 0, reason="nothing is unreadable to the superuser")
def test_a_file_that_may_not_be_read_is_told_and_taken_in_once_it_may(watch, rows):
    watch.put("a.csv", rows(1))
    (watch.place / "a.csv").chmod(0)
    watch.folder.look()
    watch.after(QUIET_S)
    assert watch.said()["a.csv"].startswith("It cannot be read")
    (watch.place / "a.csv").chmod(0o600)
    watch.folder.look()

    assert watch.after(QUIET_S) == 1


def test_a_refused_file_is_kept_with_the_reason_once(watch):
    watch.put("odd.csv", b"a,b\n1,2\n")
    assert watch.after(QUIET_S) == 1
    watch.after(STAYS_S)
    watch.start_anew()
    watch.folder.look()
    watch.after(QUIET_S)

    assert watch.names(REFUSED) == ["odd.csv", "odd.csv.why.txt"]
    assert (watch.store.audit()["action"] == "refused a file").sum() == 1


def test_a_refused_file_that_is_put_there_again_is_tried_again(watch):
    content = b"Charge,Feuchte\nL-1,9.7\n"
    watch.put("mill.csv", content)
    watch.after(QUIET_S)
    profile = (
        'profile = "mill"\n[file]\n[columns]\nlot = "Charge"\n[[measure]]\n'
        'characteristic = "moisture"\nmethod = "moisture balance"\nreading = "Feuchte"\n'
        'unit = "g/100 g"\n'
    )
    watch.store.receive_bytes("mill.toml", profile.encode(), by=ME)
    watch.put("mill.csv", content)

    assert watch.after(QUIET_S) == 1
    assert watch.counts() == [[1, 1, 0, 0]]


def test_what_a_stopped_server_left_is_taken_in_at_the_next_start(watch, rows):
    (watch.place / BEFORE / "left.csv").write_bytes(rows(1))
    watch.start_anew()
    watch.folder.look()

    assert watch.after(QUIET_S) == 1
    assert watch.counts() == [[1, 1, 0, 0]]
    assert len(watch.names(TAKEN)) == 1


def test_the_same_file_twice_is_known_and_leaves_one_copy(watch, rows):
    for _ in range(2):
        watch.put("same.csv", rows(1))
        watch.after(QUIET_S)
        watch.after(STAYS_S)
        assert not (watch.place / "same.csv").exists()

    assert len(watch.names(TAKEN)) == 1
    assert watch.counts() == [[1, 1, 0, 0]]


def test_a_file_that_was_dealt_with_goes_at_last_and_its_copy_stays(watch, rows):
    watch.put("a.csv", rows(1))
    for wait in (QUIET_S, STAYS_S, 0, DAY_S):
        watch.after(wait)

    assert (watch.names(BEFORE), len(watch.names(TAKEN))) == ([], 1)


def test_a_name_of_any_length_and_bytes_is_taken_in(watch, rows):
    (watch.place / ("x" * 240 + ".csv")).write_bytes(rows(1))
    (watch.place / os.fsdecode(b"M\xe4rz.csv")).write_bytes(rows(2))
    watch.folder.look()

    assert watch.after(QUIET_S) == 2
    assert "M?rz.csv" in set(watch.store.receipts()["name"])


def test_a_folder_that_is_away_for_a_while_is_watched_again(small_store, tmp_path, rows):
    place, away = tmp_path / "in", tmp_path / "away"
    place.mkdir()
    with watched(place, small_store, by=ME, quiet_s=0.2):
        place.rename(away)
        time.sleep(0.3)
        away.rename(place)
        (place / "a.csv").write_bytes(rows(1))
        for _ in range(100):
            if list((place / TAKEN).iterdir()):
                break
            threading.Event().wait(0.05)

    assert len(list((place / TAKEN).iterdir())) == 1


def test_where_people_sign_in_a_watched_folder_is_a_sender_s(small_store, rows, tmp_path):
    enter(small_store, "mara")
    until = datetime(2099, 1, 1)  # noqa: DTZ001 - the store keeps UTC without zone
    grant = Grant(sender="balance 3", scope=("receive files",), until=until)
    with pytest.raises(ServerRefused, match="needs a sender"):
        bringing(small_store, "")
    with pytest.raises(RegisterRefused):
        small_store.people.issue_token(grant, by=mara(small_store), reason="too long")
    grant = replace(grant, until=datetime.now(UTC).replace(tzinfo=None) + timedelta(days=9))
    key = small_store.people.issue_token(grant, by=mara(small_store), reason="sends files")
    watch = Watch(tmp_path, small_store, by=bringing(small_store, key))
    watch.put("a.csv", rows(1))

    assert watch.after(QUIET_S) == 1
    assert small_store.receipts()["received_by"].iloc[0] == "balance 3"


def test_a_folder_that_nobody_may_bring_files_from_is_not_watched(small_store, tmp_path):
    enter(small_store, "mara", "vera")
    vera = signed(small_store, "vera")

    with pytest.raises(NotAllowed), watched(tmp_path, small_store, by=vera):
        pass


def test_a_file_called_whole_by_somebody_who_may_not_is_asked_about_again(watch, rows):
    watch.put("odd.csv", rows(2).rstrip(b"\n"))
    watch.after(LONGER_S)
    enter(watch.store, "mara", "vera")
    watch.board.answer("odd.csv", by=signed(watch.store, "vera"))

    assert watch.after(1) == 0
    assert watch.said()["odd.csv"].startswith("It is tried again: ")
    assert watch.after(1) == 0
    (notice,) = watch.board.notices
    assert (notice.asked, watch.counts()) == (True, [])
