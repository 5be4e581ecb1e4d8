"""How much of a file is taken in, and why no more; a file beyond is refused, never cut."""

from typing import Final

from spc.errors import UnreadableFile

# A year of readings of a busy laboratory is some 20 MB of text. The whole is kept in memory.
LARGEST_MB: Final = 200
# A list in one piece is held as objects, ten to forty times its size; JSON lines are not.
LARGEST_JSON_MB: Final = 25
# What an archive may unpack to: a full sheet of a million rows has some 500 MB of markup.
LARGEST_UNPACKED_MB: Final = 1000
# Rows times columns of a table. Each costs at least eight bytes, also when it is empty.
MOST_CELLS: Final = 50_000_000
# A wider table is a text read with the wrong delimiter, or one without line ends.
MOST_COLUMNS: Final = 2_000
# Lines of a text or rows of a table; where each begins and ends is kept while it is read.
MOST_LINES: Final = 5_000_000
# A remark of some thirty pages. What is longer is not a cell but an unclosed quote.
LONGEST_CELL: Final = 100_000
# Characters of one line of a text: all its cells are held at once, before they can be counted.
LONGEST_LINE: Final = 10_000_000
# Objects within objects; each level is one dot in a header that somebody has to read.
DEEPEST: Final = 8
# Each group of rows in a Parquet file is opened by itself.
MOST_ROW_GROUPS: Final = 10_000


def unreadable(what: str, remedy: str) -> UnreadableFile:
    """A refusal: what is wrong with the file, and what to do about it."""
    return UnreadableFile(what, remedy=remedy)


def long_cell(row: int) -> UnreadableFile:
    """The refusal of a cell that is too long."""
    return unreadable(
        f"a cell of row {row} has more than {LONGEST_CELL:,} characters.",
        "Look for an unclosed quote before it, or shorten the text.",
    )


def refuse_size(content: bytes) -> None:
    """Refuse bytes that are empty or too many.

    Raises
    ------
    UnreadableFile
        With the limit.
    """
    if not content.strip():
        raise unreadable("the file is empty.", "Ask its source to send it again.")
    if len(content) > LARGEST_MB * 1_000_000:
        raise unreadable(
            f"the file is larger than {LARGEST_MB} MB.", "Split it and receive the parts."
        )


def refuse_shape(rows: int, columns: int) -> None:
    """Refuse a table that memory should not have to hold.

    Raises
    ------
    UnreadableFile
        With the number of columns, rows or cells.
    """
    if columns > MOST_COLUMNS:
        raise unreadable(
            f"it has {columns:,} columns, and more than {MOST_COLUMNS:,} are not read.",
            "Check the delimiter, and leave out the columns that hold no results.",
        )
    if rows > MOST_LINES:
        raise unreadable(
            f"it has more than {MOST_LINES:,} rows.", "Split it and receive the parts."
        )
    if rows * columns > MOST_CELLS:
        raise unreadable(
            f"its rows times its columns are more than {MOST_CELLS:,} cells.",
            "Split it, or leave out the columns that hold no results.",
        )


def refuse_text(size: int) -> None:
    """Refuse texts that take too many bytes once they are unpacked.

    Raises
    ------
    UnreadableFile
        With the limit.
    """
    if size > LARGEST_UNPACKED_MB * 1_000_000:
        raise unreadable(
            f"it unpacks to more than {LARGEST_UNPACKED_MB} MB.", "Split it and receive the parts."
        )
