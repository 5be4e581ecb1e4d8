"""Names of persons as text, each in its one spelling.

A name says who somebody is to a reader; who it is to the store is an id, and nothing is ever
decided by comparing names.
"""

import re
import unicodedata
from typing import Final

from spc.errors import RegisterRefused

_LONGEST: Final = 100
_SIGN_IN: Final = re.compile(r"[a-z0-9](?:[a-z0-9._+@-]{0,62}[a-z0-9])?")

# Control, format, surrogate, private and unassigned; and the breaks of line and paragraph.
_REFUSED: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"})

# Unicode 16, DerivedCoreProperties, Default_Ignorable_Code_Point, as far as it is no format or
# control character: joiner, fillers of Hangul and Khmer, variation selectors.
_INVISIBLE: Final = frozenset(
    [
        *(0x034F, 0x115F, 0x1160, 0x17B4, 0x17B5, 0x2800, 0x3164, 0xFFA0),
        *range(0x180B, 0x1810),
        *range(0xFE00, 0xFE10),
        *range(0xE0100, 0xE01F0),
    ]
)

# What stands in names beside letters, marks and digits; no colon, which marks the system's user.
_BESIDE: Final = frozenset(" -\u2010'’.,()/&")

_SCRIPTS: Final = ("LATIN", "CYRILLIC", "GREEK", "ARMENIAN", "CHEROKEE", "COPTIC")


def shown(text: str) -> str:
    """A name in its one spelling: composed letters, single spaces.

    Raises
    ------
    RegisterRefused
        If it holds something that cannot be seen, mixes alphabets, or is no name.
    """
    composed = unicodedata.normalize("NFC", " ".join(text.split()))
    _refuse_unseen(composed)
    _refuse_mixture(composed)
    letters = sum(character.isalpha() for character in composed)
    strange = [one for one in composed if not (one.isalnum() or unicodedata.combining(one))]
    fits = composed[:1].isalnum() and set(strange) <= _BESIDE
    if letters < 2 or len(composed) > _LONGEST or not fits:
        raise RegisterRefused(
            f"{composed!r} is no name of a person.",
            where="name",
            remedy=f"Give first and last name, in letters, of at most {_LONGEST} signs.",
        )
    return composed


def sign_in_name(text: str) -> str:
    """What a person types to sign in, in its one spelling: small letters and digits.

    Raises
    ------
    RegisterRefused
        If it holds anything but letters a to z, digits and ``. _ - + @``.
    """
    name = as_typed(text)
    if _SIGN_IN.fullmatch(name) is None:
        raise RegisterRefused(
            f"{text!r} cannot be a name to sign in with.",
            where="sign-in name",
            remedy="Use letters a to z, digits and . _ - + @, such as mara.quill.",
        )
    return name


def as_typed(text: str) -> str:
    """A sign-in name as somebody may type it, folded for looking it up."""
    return unicodedata.normalize("NFKC", text).strip().casefold()


def _refuse_unseen(name: str) -> None:
    for place, character in enumerate(name, start=1):
        if unicodedata.category(character) in _REFUSED or ord(character) in _INVISIBLE:
            told = unicodedata.name(character, "a sign without a name").lower()
            raise RegisterRefused(
                f"sign {place} cannot be seen: {told} (U+{ord(character):04X}).",
                where="name",
                remedy="Type the name again instead of copying it.",
            )
    if _longest_pile(name) > 2:
        raise RegisterRefused(
            "more than two marks stand on one letter.",
            where="name",
            remedy="Type the name again instead of copying it.",
        )


def _longest_pile(name: str) -> int:
    longest = pile = 0
    for character in name:
        pile = pile + 1 if unicodedata.combining(character) else 0
        longest = max(longest, pile)
    return longest


def _refuse_mixture(name: str) -> None:
    found = {
        script
        for character in name
        if character.isalpha()
        for script in _SCRIPTS
        if unicodedata.name(character, "").startswith(script)
    }
    if len(found) > 1:
        raise RegisterRefused(
            f"{name!r} mixes letters of {' and '.join(sorted(one.title() for one in found))}.",
            where="name",
            remedy="Write it in one alphabet.",
        )
