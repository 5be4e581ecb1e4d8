"""What was found out about a file, and what could not be."""

from dataclasses import dataclass
from typing import Literal

About = Literal[
    "encoding",
    "delimiter",
    "preamble",
    "header",
    "units",
    "comment",
    "sheet",
    "rows",
    "decimal",
    "thousands",
]


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """Why something is proposed.

    Attributes
    ----------
    about
        The part of the layout.
    found
        A sentence.
    examples
        Texts of the file that show it.
    """

    about: About
    found: str
    examples: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Ambiguity:
    """What the file leaves open; it is asked, and never guessed.

    Attributes
    ----------
    about
        The part of the layout.
    candidates
        Values that would all do, the likelier ones first; the first stands in the proposal.
    why
        A sentence.
    examples
        Texts of the file that can be read in more than one way.
    """

    about: About
    candidates: tuple[str, ...]
    why: str
    examples: tuple[str, ...] = ()


Finding = Evidence | Ambiguity
