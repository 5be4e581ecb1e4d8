# ruff: noqa: RUF001 - letters that look alike are what this is about
"""Names that look alike: no second person may be entered under what the eye takes for the first."""

import unicodedata
from types import MappingProxyType
from typing import Final

# Letters of one script that print like those of another, as small or as capital letters: Unicode
# Technical Standard 39, confusables, as far as a whole name can be made of them.
_TWINS: Final = MappingProxyType(
    {
        **dict(zip("авеёкмнорстухѕіїјһԁԛԝѵӏ", "abeëkmhopctyxsiïjhdqwvl", strict=True)),
        **dict(zip("αβεζηικμνορτυχϲϳ", "abezhikmnoptyxcj", strict=True)),
        **dict(zip("օսոհցզ", "ounhgq", strict=True)),
        **dict(zip("ıɑɡɩ", "iagi", strict=True)),
    }
)

# One stroke, one stroke: what a reader takes for the other in most faces.
_STROKES: Final = str.maketrans({"1": "l", "i": "l", "0": "o"})
_PAIRS: Final = (("rn", "m"), ("vv", "w"))


def likeness(text: str) -> str:
    """What names that look alike have in common.

    Blanks and signs between letters do not count.  Some different names look alike by this, such as
    Alia and Alla; it is asked at registration only, where a middle name tells them apart.
    """
    folded = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).casefold())
    letters = "".join(
        _TWINS.get(character, character)
        for character in folded
        if character.isalnum() or unicodedata.combining(character)
    )
    for pair, one in _PAIRS:
        letters = letters.replace(pair, one)
    return letters.translate(_STROKES)
