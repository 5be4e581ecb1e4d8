"""The delimiter of a text, by how evenly it splits the lines."""

import itertools
from collections import Counter
from dataclasses import dataclass
from typing import Final

from spc.errors import UnreadableFile
from spc.intake.readers.findings import Ambiguity, Evidence, Finding
from spc.intake.readers.signs import is_number
from spc.intake.readers.text import Records

NAMES: Final = {",": "comma", ";": "semicolon", "\t": "tab", "|": "bar"}
# Records that are looked at: the first of a file show its layout.
SAMPLE: Final = 5_000
# A sign that does nearly as well as the best is a candidate too.
_NEARLY: Final = 0.9


@dataclass(frozen=True, slots=True, kw_only=True)
class _Split:
    """How a text falls apart by one sign.

    Attributes
    ----------
    cells
        Number of cells that most records have.
    even
        Records that have so many.
    clean
        Share of their cells that hold no other sign which could part cells, or are a number.
    """

    sign: str
    cells: int
    even: int
    clean: float

    @property
    def merit(self) -> float:
        return self.even * self.clean**2


def delimiter(text: bytes, *, start: int = 0) -> tuple[str, Finding]:
    """The sign that splits a text into cells, and why it seems to be that.

    Parameters
    ----------
    text
        UTF-8.
    start
        Where the records begin.
    """
    splits = [split for sign in NAMES if (split := _split(text, sign, start)) is not None]
    splits.sort(key=lambda split: -split.merit)
    if not splits:
        return ",", Ambiguity(
            about="delimiter",
            candidates=tuple(NAMES),
            why="No sign splits its lines into the same number of cells.",
        )
    best = splits[0]
    rivals = [split for split in splits if split.merit >= _NEARLY * best.merit]
    if len(rivals) > 1:
        names = " and ".join(NAMES[split.sign] for split in rivals)
        return best.sign, Ambiguity(
            about="delimiter",
            candidates=tuple(split.sign for split in rivals),
            why=f"Its lines fall apart evenly at {names}.",
            examples=_first_line(text, start),
        )
    return best.sign, Evidence(
        about="delimiter",
        found=f"The {NAMES[best.sign]} splits {best.even:,} rows into {best.cells} cells each.",
        examples=_first_line(text, start),
    )


def _split(text: bytes, sign: str, start: int) -> _Split | None:
    try:
        sample = itertools.islice(Records(text, sign, start=start), SAMPLE)
        rows = [row for _, row in sample if any(cell.strip() for cell in row)]
    except UnreadableFile:
        return None
    counts = Counter(len(row) for row in rows if len(row) > 1)
    if not counts:
        return None
    cells, even = counts.most_common(1)[0]
    seen = [cell.strip() for row in rows if len(row) == cells for cell in row]
    others = [other for other in NAMES if other != sign]
    clean = [not any(other in cell for other in others) or is_number(cell) for cell in seen]
    return _Split(sign=sign, cells=cells, even=even, clean=sum(clean) / len(clean))


def _first_line(text: bytes, start: int) -> tuple[str, ...]:
    return tuple(text[start : start + 200].decode(errors="ignore").splitlines()[:1])
