"""Bytes of a text file to UTF-8, to lines, and to records by the strict rules of CSV."""

import codecs
import csv
import io
import itertools
import re
from collections.abc import Iterator
from typing import Final

from spc.intake.readers import limits

_STRETCH: Final = 1 << 20
_MARK: Final = codecs.BOM_UTF8
_LINE_END: Final = re.compile(rb"\r\n|\n|\r")


def utf8(content: bytes, encoding: str) -> bytes:
    """The text as UTF-8 without a byte order mark.

    Raises
    ------
    UnreadableFile
        If the bytes are no text in this encoding, hold NUL, or have too many lines.
    """
    try:
        text = _recoded(content, encoding)
    except (UnicodeError, LookupError) as problem:
        raise limits.unreadable(
            f"the bytes are not {encoding} text ({problem}).",
            "Correct the encoding in the source profile.",
        ) from problem
    if b"\0" in text:
        raise limits.unreadable(
            "it is not a text file.", "Export it as CSV, or correct the profile."
        )
    if max(text.count(b"\n"), text.count(b"\r")) > limits.MOST_LINES:
        raise limits.unreadable(
            f"it has more than {limits.MOST_LINES:,} lines.", "Split it and receive the parts."
        )
    return text.removeprefix(_MARK)


def _recoded(content: bytes, encoding: str) -> bytes:
    """Stretch by stretch: one wide character would make a whole text four times as large."""
    # Refuses the codecs that are known by name, but read no text.
    io.TextIOWrapper(io.BytesIO(), encoding=encoding)
    if codecs.lookup(encoding).name == "utf-8":
        # Only to see whether it can be read; the bytes are as they should be already.
        for _ in _decoded(content, encoding):
            pass
        return content
    return b"".join(part.encode() for part in _decoded(content, encoding))


def _decoded(content: bytes, encoding: str) -> Iterator[str]:
    decoder = codecs.getincrementaldecoder(encoding)()
    for at in range(0, len(content), _STRETCH):
        yield decoder.decode(content[at : at + _STRETCH])
    yield decoder.decode(b"", final=True)


def past_lines(text: bytes, count: int) -> int:
    """Where the line after the first `count` begins; the end of the text if there is none."""
    if count == 0:
        return 0
    ends = [end.end() for end in itertools.islice(_LINE_END.finditer(text), count)]
    return ends[-1] if len(ends) == count else len(text)


def lines(text: bytes, *, start: int = 0, before: int = 0) -> Iterator[str]:
    """Lines from `start` on, each with its end as it stands: CR, LF or both.

    Parameters
    ----------
    text
        As `utf8` gives it.
    start, before
        Where to begin, and how many lines lie before.

    Raises
    ------
    UnreadableFile
        If a line is beyond the limit.
    """
    stream = io.BytesIO(text)
    stream.seek(start)
    text_lines = io.TextIOWrapper(stream, "utf-8", newline="")
    for number, line in enumerate(text_lines, start=before + 1):
        if len(line) > limits.LONGEST_LINE:
            raise limits.unreadable(
                f"line {number} has more than {limits.LONGEST_LINE:,} characters.",
                "Look for lost line ends, and ask for the file again.",
            )
        yield line


class Records:
    """The records of a delimited text, each with the number of the line it begins on.

    Quotes are taken strictly: one that is not closed, or is followed by more text, would have
    swallowed a row or a part of one.

    Parameters
    ----------
    text
        As `utf8` gives it.
    start, before
        Where to begin, and how many lines lie before.

    Raises
    ------
    UnreadableFile
        While iterating, with the line that is damaged.
    """

    def __init__(self, text: bytes, delimiter: str, *, start: int = 0, before: int = 0) -> None:
        self._reader = csv.reader(
            lines(text, start=start, before=before), delimiter=delimiter, strict=True
        )
        self._before = before

    @property
    def line(self) -> int:
        """Number of the last line that was read."""
        return self._before + self._reader.line_num

    def __iter__(self) -> Iterator[tuple[int, list[str]]]:
        return self

    def __next__(self) -> tuple[int, list[str]]:
        first = self.line + 1
        try:
            return first, next(self._reader)
        except csv.Error as problem:
            if "field limit" in str(problem):
                raise limits.long_cell(first) from problem
            raise limits.unreadable(
                f"line {self.line} is damaged: {problem}.",
                "Mend the quotes in that line, or ask for the file again.",
            ) from problem
