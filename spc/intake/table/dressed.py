"""Numbers with something around them that leaves one reading only: a unit, a power of ten, ± ..."""

import re
import unicodedata
from collections.abc import Collection
from typing import Final

import pandas as pd

from spc import units
from spc.intake.profiles.profile import FileForm

# Blanks that nobody types between two numbers; an ordinary one may stand there for anything.
_THOUSANDS: Final = "\N{NO-BREAK SPACE}\N{FIGURE SPACE}\N{THIN SPACE}\N{NARROW NO-BREAK SPACE}"
_RAISED: Final = "⁰¹²³⁴⁵⁶⁷⁸⁹"
_LOWERED: Final = str.maketrans(f"{_RAISED}⁻⁺−", "0123456789-+-")
_FULL_WIDTH: Final = {code: code - 0xFEE0 for code in range(0xFF01, 0xFF5F)}
_DIGITS: Final = {
    code: str(unicodedata.decimal(chr(code)))
    for code in range(0x80, 0x1FBFA)
    if unicodedata.category(chr(code)) == "Nd"
}
_ARABIC_POINT, _ARABIC_COMMA = "\N{ARABIC DECIMAL SEPARATOR}", "\N{ARABIC THOUSANDS SEPARATOR}"
_UNIT_BEGINS: Final = re.compile(r"[0-9]\s*(?=[^0-9\s.,+\-])")
# What follows a number and says nothing about its value.
_SPREAD: Final = r"\s*(?:±|\+/-|\+-)\s*{number}"
_POWER: Final = rf"\s*[×x*·]\s*10(?:\s*\^\s*([+\-−]?[0-9]{{1,2}})|([⁻⁺]?[{_RAISED}]{{1,2}}))$"


def undressed(texts: pd.Series, form: FileForm, own: Collection[str]) -> pd.Series:
    """Texts without what stands around their numbers; those that leave a doubt as they came.

    Parameters
    ----------
    texts
        Without a mark before them, none of them a plain number.
    own
        Units that change nothing of the number, in any spelling that `units.spelled` knows.
    """
    return texts.map(lambda text: _undressed(text, form, own)).astype("str")


def own_units(unit: str) -> frozenset[str]:
    """Units in which a number is the same as in a given one; none if that is not known."""
    spelled = units.spelled(unit)
    if spelled not in units.KNOWN:
        return frozenset()
    kind = units.measures(spelled)
    alike = [one for one in units.KNOWN if units.measures(one) == kind]
    return frozenset(one for one in alike if units.factor(one, to=spelled) == 1.0)


def _undressed(text: str, form: FileForm, own: Collection[str]) -> str:
    number = rf"[0-9][0-9{re.escape(form.decimal)}{re.escape(form.thousands)}]*"
    bare = _western(text, form)
    bare = re.sub(rf"(?<=[0-9])[{_THOUSANDS}](?=[0-9]{{3}}(?![0-9]))", form.thousands, bare)
    bare = _without_unit(bare, own)
    bare = re.sub(rf"{_SPREAD.format(number=number)}$", "", bare)
    bare = _without_unit(bare, own)
    return re.sub(_POWER, lambda found: f"e{(found[1] or found[2]).translate(_LOWERED)}", bare)


def _western(text: str, form: FileForm) -> str:
    """The same in the digits that files are written with."""
    if text.isascii():
        return text
    if _ARABIC_POINT in text or _ARABIC_COMMA in text:
        text = text.replace(_ARABIC_POINT, form.decimal).replace(_ARABIC_COMMA, form.thousands)
    return text.translate(_FULL_WIDTH).translate(_DIGITS)


def _without_unit(text: str, own: Collection[str]) -> str:
    """A text without the unit that it ends with, if that changes nothing."""
    for end in _UNIT_BEGINS.finditer(text):
        if units.spelled(text[end.end() :]) in own:
            return text[: end.start() + 1]
    return text
