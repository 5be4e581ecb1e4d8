"""What a sheet holds, found out before the engine that reads it is let near it."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from xml.parsers import expat

from spc.errors import UnreadableFile
from spc.intake.readers import limits


@dataclass(frozen=True, slots=True, kw_only=True)
class Outline:
    """The outline of one sheet.

    Attributes
    ----------
    rows, columns
        Up to the outermost cell that holds anything.
    unsaid
        Row and column, from zero, to what a cell shows that the engine gives as an empty one:
        an error, or the text of a formula that was never calculated. Taken as empty, a result
        would look as if it had not been measured.
    """

    rows: int = 0
    columns: int = 0
    unsaid: Mapping[tuple[int, int], str] = field(default_factory=dict)


def damaged(why: object = "") -> UnreadableFile:
    """A workbook that is none, or that cannot be opened."""
    return limits.unreadable(
        f"it is not a workbook, or a damaged or locked one{f' ({why})' if why else ''}.",
        "Open it, save it as .xlsx and receive that.",
    )


def refuse_spread(outlines: Iterable[Outline]) -> None:
    """Refuse sheets of which the engine would hold too many cells, most of them empty.

    Raises
    ------
    UnreadableFile
        With the number of cells.
    """
    spread = sum(outline.rows * outline.columns for outline in outlines)
    if spread > limits.LARGEST_SPREAD:
        raise limits.unreadable(
            f"a sheet of it spreads over {spread:,} cells.",
            "Look for a stray entry far below or right of the table, and clear it.",
        )


def feed(parser: expat.XMLParserType, markup: Iterable[bytes]) -> None:
    """Let a parser go through the markup of a part.

    Raises
    ------
    UnreadableFile
        If it is not well formed.
    """
    try:
        for stretch in markup:
            parser.Parse(stretch)
        parser.Parse(b"", True)  # noqa: FBT003 - expat takes it by place only
    except (expat.ExpatError, LookupError, ValueError) as problem:
        raise damaged(problem) from problem
