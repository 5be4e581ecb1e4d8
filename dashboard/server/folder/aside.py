"""What was dealt with is put aside: a copy of the very bytes, and the file out of the way."""

import hashlib
import os
from pathlib import Path
from typing import Final

from dashboard.server.folder.contents import BEFORE, REFUSED, TAKEN

# Longer names are cut at their beginning; most systems end a name at 255 bytes.
_LONGEST_NAME: Final = 150
_WHY: Final = ".why.txt"


def digest(content: bytes) -> str:
    """What tells bytes from others."""
    return hashlib.sha256(content).hexdigest()


def put_aside(folder: Path, name: str, content: bytes, *, receipt: str) -> None:
    """Keep a copy of what was taken in, named by its receipt; the same bytes once only.

    Raises
    ------
    OSError
        If it cannot be written; nothing is left of it then.
    """
    _kept(folder / TAKEN, f"{receipt}_{_short(name)}", content)


def put_refused(folder: Path, name: str, content: bytes, *, why: str) -> None:
    """Keep a copy of what was refused, with the reason beside it.

    Raises
    ------
    OSError
        If it cannot be written; nothing is left of it then.
    """
    place = _kept(folder / REFUSED, _short(name), content)
    place.with_name(f"{place.name}{_WHY}").write_text(f"{why}\n", encoding="utf-8")


def was_refused(folder: Path, content: bytes) -> bool:
    """Whether the very bytes lie among what was refused."""
    mine = digest(content)
    alike = (
        one
        for one in (folder / REFUSED).iterdir()
        if not one.name.endswith(_WHY) and one.stat().st_size == len(content)
    )
    return any(digest(one.read_bytes()) == mine for one in alike)


def out_of_the_way(folder: Path, path: Path) -> Path:
    """Move a file that was dealt with to where it is still looked at; its new place."""
    moved = _free(folder / BEFORE, _short(path.name))
    path.replace(moved)
    return moved


def _kept(folder: Path, name: str, content: bytes) -> Path:
    place = folder / name
    if place.is_file() and place.read_bytes() == content:
        return place
    place = _free(folder, name)
    part = place.with_name(f".{place.name}.part")
    try:
        with part.open("wb") as file:
            file.write(content)
            file.flush()
            os.fsync(file.fileno())
        part.replace(place)
    finally:
        part.unlink(missing_ok=True)
    return place


def _short(name: str) -> str:
    while len(os.fsencode(name)) > _LONGEST_NAME:
        name = name[1:]
    return name.lstrip(".") or "file"


def _free(folder: Path, name: str) -> Path:
    """A name in a folder that no file has yet."""
    place, number = folder / name, 1
    while place.exists():
        number += 1
        place = folder / f"{Path(name).stem}-{number}{Path(name).suffix}"
    return place
