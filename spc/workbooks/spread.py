"""How far a sheet may spread, and the refusals that are known within the wall."""

from typing import Final

# Rows times columns up to the outermost cell of a sheet; beyond, it is a stray entry.
LARGEST_SPREAD: Final = 10_000_000
# No sheet has more.
MOST_ROWS: Final = 1_048_576
MOST_COLUMNS: Final = 16_384


class Refused(ValueError):
    """A workbook that is not read; the wall words it.

    Attributes
    ----------
    why
        Which of the reasons that the wall knows.
    about
        What it says of the file.
    """

    def __init__(self, why: str, about: str = "") -> None:
        super().__init__(why, about)
        self.why, self.about = why, about


def refuse_spread(rows: int, columns: int) -> None:
    """Refuse a sheet of which most would be empty.

    Raises
    ------
    Refused
        With the number of cells.
    """
    if rows * columns > LARGEST_SPREAD:
        raise Refused("spread", f"{rows * columns:,}")
