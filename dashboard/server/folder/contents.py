"""What lies in a watched folder: files to take in, and what is not taken in, each with why."""

import os
import stat
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from dashboard.frame.folder_board import Notice

TAKEN: Final = "taken"
REFUSED: Final = "refused"
# The files themselves after they were dealt with: a program may still hold one open and write.
BEFORE: Final = ".being-taken"
OWN: Final = (TAKEN, REFUSED, BEFORE)

# Names under which copying programs build a file up before they rename it.
_UNFINISHED: Final = (".part", ".partial", ".tmp", ".crdownload", ".filepart", "~")
# Marks that spreadsheet programs put beside a workbook while they have it open.
_MARKS: Final = ("~$", ".~lock.")
# What the store and its server put beside the store's file.
_STORES: Final = (".wal", ".tmp", ".server.json", ".copy", ".copy.anchor.txt")
_STALE: Final = "It is a spreadsheet program's mark on a file that is not here; it can be deleted."
_FOLDER: Final = "It is a folder, and files in it are not read. Put the files here themselves."
_LINK: Final = "It is a link, which is not followed. Put the file itself here."
_NO_FILE: Final = "It is no file that could be read."
_BEGUN: Final = "Its name is that of an unfinished copy; it is taken in once it has its own name."
_HIDDEN: Final = "Its name begins with a dot, so it is not read. Give it another name."


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What tells one state of a file from another without reading it.

    A clock set back or a time in the future makes no difference: states are compared for being
    equal, never for which is later.
    """

    size: int
    modified: int
    changed: int
    node: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Contents:
    """What lies in a folder at one look.

    Attributes
    ----------
    files
        In order of their names, each as it was seen; also those that were dealt with before.
    locked
        Those that a spreadsheet program has open, by the lock file that it left beside them.
    notices
        What is not taken in, and why.
    """

    files: dict[Path, Seen]
    locked: frozenset[Path]
    notices: tuple[Notice, ...]


def contents(folder: Path, *, store: Path) -> Contents:
    """Everything that lies in a folder, but for what the store keeps there itself.

    Raises
    ------
    OSError
        If the folder cannot be read.
    """
    files: dict[Path, Seen] = {}
    notices: list[Notice] = []
    there = set(folder.iterdir())
    for path in sorted(there):
        if path.name in OWN or _is_stores(path, store):
            continue
        found = _looked_at(path, there)
        if isinstance(found, Seen):
            files[path] = found
        elif found:
            notices.append(Notice(name=shown(path), what=found))
    for path in sorted((folder / BEFORE).iterdir()):
        if isinstance(kept := _looked_at(path, set()), Seen):
            files[path] = kept
    locked = frozenset(path for path in files if _locks(path) & there)
    return Contents(files=files, locked=locked, notices=tuple(notices))


def seen(path: Path) -> Seen:
    """A file's state.

    Raises
    ------
    OSError
        If there is none.
    """
    return _state(path.stat())


def shown(path: Path) -> str:
    """A file's name as it can be kept and shown, whatever bytes it is made of."""
    return path.name.encode(errors="replace").decode()


def _looked_at(path: Path, there: set[Path]) -> Seen | str:
    """The state of a file; of anything else, why it is not taken in."""
    try:
        about = path.lstat()
    except FileNotFoundError:
        return ""
    except OSError as problem:
        return f"It cannot be looked at: {problem.strerror}."
    if stat.S_ISDIR(about.st_mode):
        return _FOLDER
    if stat.S_ISLNK(about.st_mode):
        return _LINK
    if not stat.S_ISREG(about.st_mode):
        return _NO_FILE
    return _by_name(path, there) or _state(about)


def _by_name(path: Path, there: set[Path]) -> str:
    """Why a file of this name is not read; empty if it is."""
    if path.name.startswith(_MARKS):
        marked = next((shown(one) for one in there - {path} if path in _locks(one)), "")
        return f"It says that {marked} is open in a spreadsheet program." if marked else _STALE
    if path.name.lower().endswith(_UNFINISHED):
        return _BEGUN
    return _HIDDEN if path.name.startswith(".") else ""


def _locks(path: Path) -> set[Path]:
    """The marks that can stand beside a workbook; some leave out the name's first two signs."""
    marks = (f"~${path.name}", f"~${path.name[2:]}", f".~lock.{path.name}#")
    return {path.with_name(mark) for mark in marks}


def _is_stores(path: Path, store: Path) -> bool:
    """Whether it is the store itself, its log, or the note of its server."""
    own = path.name.startswith(store.name) and path.name.endswith(_STORES)
    return (own or path.name == store.name) and path.parent.resolve() == store.resolve().parent


def _state(about: os.stat_result) -> Seen:
    return Seen(
        size=about.st_size,
        modified=about.st_mtime_ns,
        changed=about.st_ctime_ns,
        node=about.st_ino,
    )
