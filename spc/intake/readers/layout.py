"""Where the records of a text lie: found for the whole text at once, or not at all."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.intake.readers import limits

Bytes = NDArray[np.uint8]

_LF, _CR, _QUOTE, _MARK = 10, 13, 34, 0xEF
# Bytes that are looked at together; what is found out about them stays in the cache.
_STRETCH: Final = 1 << 19


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Layout:
    """The records of a text.

    Attributes
    ----------
    starts, ends : shape (records,)
        First byte, and the byte after the last, line end included.
    lines : shape (records,)
        Lines before the one that the record begins on.
    cells : shape (records,)
        Number of cells.
    blank : shape (records,)
        Lines with nothing on them.
    regular : shape (records,)
        Not blank, on one line, and with as many cells as most.
    quoted
        Whether quotes enclose cells; otherwise they are signs like others.
    """

    starts: NDArray[np.int64]
    ends: NDArray[np.int64]
    lines: NDArray[np.int64]
    cells: NDArray[np.int64]
    blank: NDArray[np.bool_]
    regular: NDArray[np.bool_]
    quoted: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Lines:
    """The lines of a text, or of a stretch of it.

    Attributes
    ----------
    ends : shape (lines,)
        Last byte of each.
    inside : shape (lines,)
        Whether the line ends inside quotes.
    delimiters : shape (lines,)
        Delimiters outside quotes, from the beginning to the end of the line.
    all_delimiters, all_quotes
        Also those after the last line end.
    """

    ends: NDArray[np.int64]
    inside: NDArray[np.bool_]
    delimiters: NDArray[np.int64]
    all_delimiters: int
    all_quotes: int


def layout(text: Bytes, delimiter: str) -> Layout | None:
    """Where the records lie, without splitting them; None where that is not seen at a glance.

    Parameters
    ----------
    text : shape (bytes,)
        UTF-8.
    delimiter
        One sign.

    Returns
    -------
    Layout or None
        None if a quote stands where only a reader that goes record by record can tell what it
        means, if a record is beyond the limits, and if the delimiter is not ASCII.

    Notes
    -----
    A quote opens a cell only where the cell begins; where none does, quotes are signs like others.
    Otherwise say that they open and close in turn.  If then each opening one follows a delimiter,
    a line end or a closing quote (which doubles it), and each closing one is followed by the like,
    then by induction from the first byte this is how a strict reader takes them.  If not, some
    are damage, or stand within a text that is not enclosed.
    """
    sign = delimiter.encode()
    if len(sign) != 1 or not text.size:
        return None
    quoted = _encloses(text, sign[0])
    lines = _lines(text, sign[0], quoted=quoted)
    if lines is None or lines.all_quotes % 2:
        return None
    whole = _records(text, lines, quoted=quoted)
    longest = (whole.ends - whole.starts).max()
    if longest > limits.LONGEST_CELL or whole.cells.max() > limits.MOST_COLUMNS:
        return None
    return whole


def _encloses(text: Bytes, sign: int) -> bool:
    """Whether any quote stands at the beginning of a cell."""
    before = _beside(sign)
    for at in range(0, text.size, _STRETCH):
        places = np.flatnonzero(text[at : at + _STRETCH] == _QUOTE) + at
        if np.any(before[text[places - 1]] | (places == 0)):
            return True
    return False


def _lines(text: Bytes, sign: int, *, quoted: bool) -> _Lines | None:
    parts: list[_Lines] = []
    delimiters = quotes = 0
    for at in range(0, text.size, _STRETCH):
        part = _stretch(text, at, sign, (delimiters, quotes), quoted=quoted)
        if part is None:
            return None
        parts.append(part)
        delimiters, quotes = part.all_delimiters, part.all_quotes
    ends = [part.ends for part in parts]
    inside = [part.inside for part in parts]
    counts = [part.delimiters for part in parts]
    if text[-1] not in (_LF, _CR):
        # What stands after the last line end is a line too.
        ends.append(np.array([text.size - 1]))
        inside.append(np.array([False]))
        counts.append(np.array([delimiters]))
    return _Lines(
        ends=np.concatenate(ends),
        inside=np.concatenate(inside),
        delimiters=np.concatenate(counts),
        all_delimiters=delimiters,
        all_quotes=quotes,
    )


def _stretch(
    text: Bytes, at: int, sign: int, before: tuple[int, int], *, quoted: bool
) -> _Lines | None:
    """One stretch, given the delimiters and quotes before it; None if its quotes are doubtful."""
    part = text[at : at + _STRETCH]
    delimiters, quotes = before
    end, delimiter, quote = part == _LF, part == sign, (part == _QUOTE) & quoted
    if _CR in part:
        # A CR before an LF is a part of the same line end.
        following = text[at + 1 : at + 1 + part.size]
        end |= (part == _CR) & (np.append(following, _CR)[: part.size] != _LF)
    ends = np.flatnonzero(end)
    inside = np.zeros(ends.size, dtype=np.bool_)
    places = np.flatnonzero(quote) + at
    if places.size or quotes % 2:
        if not _are_in_place(text, places, quotes, sign):
            return None
        open_after = ((np.cumsum(quote, dtype=np.uint8) + quotes % 2) & 1).astype(np.bool_)
        inside = open_after[ends]
        delimiter &= ~open_after
    signs = np.flatnonzero(delimiter)
    return _Lines(
        ends=ends + at,
        inside=inside,
        delimiters=np.searchsorted(signs, ends) + delimiters,
        all_delimiters=delimiters + signs.size,
        all_quotes=quotes + places.size,
    )


def _are_in_place(text: Bytes, places: NDArray[np.int64], before: int, sign: int) -> bool:
    """Whether each quote stands beside what it has to, if they open and close in turn."""
    opening = (np.arange(places.size) + before) % 2 == 0
    beside = np.where(opening, places - 1, places + 1)
    at_edge = (beside < 0) | (beside == text.size)
    return bool(np.all(at_edge | _beside(sign)[text[np.where(at_edge, 0, beside)]]))


def _beside(sign: int) -> NDArray[np.bool_]:
    """The bytes that may stand before an opening and after a closing quote."""
    return np.isin(np.arange(256), [sign, _LF, _CR, _QUOTE])


def _records(text: Bytes, lines: _Lines, *, quoted: bool) -> Layout:
    last = np.flatnonzero(~lines.inside)
    first = np.append(0, last[:-1] + 1)
    ends = lines.ends[last] + 1
    starts = np.append(0, ends[:-1])
    cells = np.diff(lines.delimiters[last], prepend=0) + 1
    blank = np.isin(text[starts], (_LF, _CR))
    # What begins with this byte may be a byte order mark, which readers drop where they begin.
    regular = (first == last) & ~blank & (text[starts] != _MARK)
    if regular.any():
        regular &= cells == np.bincount(np.minimum(cells, limits.MOST_COLUMNS)[regular]).argmax()
    return Layout(
        starts=starts,
        ends=ends,
        lines=first,
        cells=cells,
        blank=blank,
        regular=regular,
        quoted=quoted,
    )
