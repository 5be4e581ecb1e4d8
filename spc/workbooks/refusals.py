"""Why a workbook is not read, in words."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from spc.errors import UnreadableFile

_SAVE: Final = "Open it in a spreadsheet program, save it as .xlsx and receive that."
_PLAIN: Final = "Ask its source for a plain file."
_CLEAR: Final = "Look for a stray entry far below or right of the table, and clear it."
_SMALLER: Final = "Save it as .xlsx with the results alone, or split it, and receive that."
_WORDS: Final[Mapping[str, tuple[str, str]]] = MappingProxyType(
    {
        "none": ("it is not a workbook.", _SAVE),
        "damaged": ("it is not a workbook, or a damaged one.", _SAVE),
        "locked": (
            "it is locked with a password.",
            "Open it, save it without the password and receive that.",
        ),
        "binary": (
            "it is a binary workbook (.xlsb), which is not read.",
            "Open it, save it as .xlsx and receive that.",
        ),
        "spread": ("a sheet of it spreads over {about} cells.", _CLEAR),
        "size": ("it unpacks to an unreasonable size.", _PLAIN),
        "ratio": ("it unpacks to {about} times its size.", _PLAIN),
        "memory": ("it takes more memory to open than a workbook may.", _SMALLER),
        "time": ("it takes longer to open than a workbook may.", _SMALLER),
        "broken": (
            "the program that opens workbooks broke down over it, as it does for want of memory.",
            _SMALLER,
        ),
        "sheet": (
            "there is no sheet {about!r}; it has {names}.",
            "Correct the sheet's name in the source profile.",
        ),
    }
)


def refusal(why: str, about: str = "", *, names: Sequence[str] = ()) -> UnreadableFile:
    """The refusal of a workbook.

    Parameters
    ----------
    why
        The reason as the worker names it.
    about
        What it says of the file.
    names
        Of its sheets.
    """
    what, remedy = _WORDS.get(why, _WORDS["damaged"])
    told = what.format(about=about, names=", ".join(names))
    return UnreadableFile(told, remedy=remedy)
