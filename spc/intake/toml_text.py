"""The text of a catalogue or a source profile, within limits, as the tables it says."""

import re
import tomllib
from typing import Any, Final

from spc.errors import BadCatalogue, BadProfile, IntakeError
from spc.intake.entries import shortened
from spc.intake.names import composed

# The catalogue of a large house has some 200 kB; the parser reads a quarter of this in a second.
LARGEST_MB: Final = 2
# Tables within tables, and names joined by dots; a catalogue needs four.
DEEPEST: Final = 20
_QUOTED: Final = re.compile(r'"(?:[^"\\\n]|\\.)*"|\'[^\'\n]*\'')
_BETWEEN_KEYS: Final = re.compile(r"[=,{}\[\]\n]")


def toml_tables(
    text: str, *, refusal: type[BadProfile] | type[BadCatalogue], where: str
) -> dict[str, Any]:
    """The tables of a TOML text, every text in the composed form of Unicode.

    Parameters
    ----------
    refusal
        What is raised.
    where
        What the text is.

    Raises
    ------
    BadProfile, BadCatalogue
        If it is too large or too deep, or not well-formed TOML.
    """
    refuse_large(len(text), where=where, refusal=refusal)
    # A name of many parts takes the parser the square of their number.
    if any(key.count(".") >= DEEPEST for key in _BETWEEN_KEYS.split(_QUOTED.sub("", text))):
        raise _too_deep(refusal, where)
    try:
        tables = tomllib.loads(text)
    except RecursionError as problem:
        raise _too_deep(refusal, where) from problem
    except ValueError as problem:
        # Of numbers with too many digits the parser says no more than that.
        raise refusal(
            f"it is not well-formed TOML: {shortened(problem)}.",
            where=where,
            remedy="Mend that line and receive the file again.",
        ) from problem
    if _depth(tables) > DEEPEST:
        raise _too_deep(refusal, where)
    return dict(composed(tables))


def refuse_large(size: int, *, where: str, refusal: type[IntakeError]) -> None:
    """Refuse a text that is longer than any catalogue.

    Raises
    ------
    IntakeError
        Of the kind named, with the limit.
    """
    if size > LARGEST_MB * 1_000_000:
        raise refusal(
            f"it is larger than {LARGEST_MB} MB.",
            where=where,
            remedy="Split it into several files, or look for what does not belong there.",
        )


def _too_deep(refusal: type[IntakeError], where: str) -> IntakeError:
    return refusal(
        f"its tables lie more than {DEEPEST} deep.",
        where=where,
        remedy="Write it as the README shows; no table needs to lie that deep.",
    )


def _depth(tables: dict[str, Any]) -> int:
    """How many tables and lists lie within each other at most."""
    deepest, waiting = 0, [(1, one) for one in tables.values()]
    while waiting:
        depth, value = waiting.pop()
        deepest = max(deepest, depth)
        inner = value.values() if isinstance(value, dict) else value
        if isinstance(value, dict | list) and depth <= DEEPEST:
            waiting += [(depth + 1, one) for one in inner]
    return deepest
