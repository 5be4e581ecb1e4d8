"""Workbooks are opened by another process, and whatever becomes of it, the next one is opened."""

import json
import os
import signal
import subprocess
import sys
import threading
import time

import pytest

from spc.errors import UnreadableFile
from spc.workbooks import fences, process, sheet, sheets, wall
from spc.workbooks.protocol import Asked
from tests.intake.workbook_files import ods, ods_row, with_rows, xlsx

BOOK = xlsx(["Lot", "Heat"], ["L-1", 41.5])
ROW = '<row r="{0}"><c r="A{0}"><v>{0}</v></c></row>'
SLOW_ROW = '<row r="{0}"><c r="A{0}" t="inlineStr"><is><r><t>x</t></r></is></c></row>'
LONG = with_rows("".join(map(ROW.format, range(1, 40_000))))


ENDING = "import sys; sys.stdin.read(9)"
NARROW = "from spc.workbooks import fences, worker; fences.MOST_MEMORY = 300_000_000; worker.main()"
TRYING = """
import signal, sys
from spc.workbooks import fences
fences.raise_all()
signal.signal(signal.SIGXFSZ, signal.SIG_DFL)
try:
    bytearray(fences.MOST_MEMORY)
except MemoryError:
    print("memory", flush=True)
try:
    kept = [open(sys.executable, "rb") for _ in range(fences.MOST_FILES)]
except OSError:
    print("files", flush=True)
kept = None
with open(sys.argv[1], "wb", buffering=0) as file:
    file.write(b"x")
"""


def rows(content: bytes) -> list[list[object]]:
    return [row for stretch in sheet(content).stretches() for _, row in stretch.rows]


@pytest.fixture(autouse=True)
def a_fresh_process():
    """What other tests left may be swollen already, and about to end."""
    wall._WALL.close()
    wall._WALL._kept = (None, ())


def worker() -> int:
    """The number of the process that opens workbooks."""
    sheets(BOOK, most_rows=1)
    running = wall._WALL._process
    assert running is not None
    return running._process.pid


def test_one_process_opens_one_workbook_after_the_other():
    first = worker()

    assert rows(xlsx(["Lot"], ["L-2"])) == [["Lot"], ["L-2"]]
    assert worker() == first


@pytest.mark.skipif(sys.platform == "win32", reason="the platform does not tell memory")
def test_a_process_is_kept_however_large_the_one_is_that_asks():
    held = b"x" * (fences.SWOLLEN + 50_000_000)
    first = worker()

    assert rows(xlsx(["Lot"], ["L-5"])) == [["Lot"], ["L-5"]]
    assert worker() == first
    assert len(held) > fences.SWOLLEN


def test_a_process_that_was_ended_is_replaced_without_a_word():
    ended = worker()
    os.kill(ended, signal.SIGKILL)

    assert rows(xlsx(["Lot"], ["L-3"])) == [["Lot"], ["L-3"]]
    assert worker() != ended


def test_a_process_that_is_ended_in_the_middle_is_asked_again():
    ended = worker()
    timer = threading.Timer(0.2, os.kill, (ended, signal.SIGKILL))
    timer.start()

    found = rows(LONG)
    timer.join()

    assert len(found) == 39_999
    assert worker() != ended


def test_what_breaks_every_process_down_is_refused_in_words(monkeypatch):
    monkeypatch.setattr(process, "_COMMAND", (sys.executable, "-c", ENDING))
    another = wall._Wall()

    with pytest.raises(UnreadableFile, match="broke down over it"):
        another.frames(BOOK, Asked())

    another.close()


def test_several_threads_get_each_its_own_workbook():
    found: dict[int, list[list[object]]] = {}

    def ask(number: int) -> None:
        found[number] = rows(xlsx(["Lot"], [f"L-{number}"]))

    threads = [threading.Thread(target=ask, args=(number,)) for number in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()

    assert found == {number: [["Lot"], [f"L-{number}"]] for number in range(4)}


@pytest.mark.skipif(sys.platform == "win32", reason="the platform has no such limit")
def test_what_computes_for_too_long_is_ended_and_refused_in_words(monkeypatch):
    slow = with_rows("".join(map(SLOW_ROW.format, range(1, 100_000))))
    begun = time.process_time()

    with monkeypatch.context() as briefly:
        briefly.setattr(wall, "_SECONDS", 1)
        briefly.setattr(wall, "_SECONDS_A_MB", 0)
        with pytest.raises(UnreadableFile, match="takes longer to open"):
            sheet(slow)

    assert time.process_time() - begun < 1.0
    assert rows(BOOK) == [["Lot", "Heat"], ["L-1", 41.5]]


@pytest.mark.skipif(sys.platform == "win32", reason="the platform has no such limit")
def test_what_takes_too_much_memory_is_refused_in_words(monkeypatch):
    monkeypatch.setattr(process, "_COMMAND", (sys.executable, "-c", NARROW))
    another = wall._Wall()
    wide = ods(ods_row(*map(float, range(9))) * 30_000)

    frames = another.frames(wide, Asked())
    another.close()

    assert json.loads(frames[-1])["why"] == "memory"


@pytest.mark.skipif(sys.platform == "win32", reason="the platform has no such limits")
def test_nothing_behind_the_wall_can_take_all_memory_open_many_files_or_write_one(tmp_path):
    tried = subprocess.run(
        [sys.executable, "-c", TRYING, str(tmp_path / "written")],
        stdout=subprocess.PIPE,
        check=False,
        text=True,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
    )

    assert tried.stdout.split() == ["memory", "files"]
    assert tried.returncode == -signal.SIGXFSZ
    assert (tmp_path / "written").read_bytes() == b""


def test_whoever_ends_leaves_no_process_behind():
    code = (
        "from spc.workbooks import sheets, wall\n"
        "import os, signal, sys, threading\n"
        "book = sys.stdin.buffer.read()\n"
        "sheets(book, most_rows=1)\n"
        "print(wall._WALL._process._process.pid, flush=True)\n"
        "{}"
    )
    killed = "os.kill(os.getpid(), signal.SIGKILL)"
    in_the_middle = (
        "threading.Timer(0.2, os.kill, (os.getpid(), signal.SIGKILL)).start()\n"
        "sheets(book, most_rows=0)"
    )
    for how in ("", killed, in_the_middle):
        ended = subprocess.run(
            [sys.executable, "-c", code.format(how)],
            input=LONG,
            stdout=subprocess.PIPE,
            check=False,
            env={**os.environ, "PYTHONPATH": os.pathsep.join(sys.path)},
        )
        assert is_gone(int(ended.stdout))


def is_gone(process: int) -> bool:
    for _ in range(600):
        try:
            os.kill(process, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False
