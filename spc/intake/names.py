"""Names from files and of files: one spelling for what looks the same, and how long one may be.

Names in a table are looked at by the column, in `table.names`, with the same limits.
"""

import unicodedata
from typing import Any, Final

# Longer ones are sentences that slipped into the wrong column.
LONGEST: Final = 100
# Of a file; most systems end one at 255 bytes.
LONGEST_OF_A_FILE: Final = 150
# Signs that nobody sees: controls, line ends, those that turn or join what stands around them, and
# halves of signs.
_UNSEEN: Final = frozenset({"Cc", "Cf", "Zl", "Zp", "Cs"})


def composed(told: Any) -> Any:
    """Texts in the composed form of Unicode, also within tables and lists."""
    if isinstance(told, str):
        return unicodedata.normalize("NFC", told)
    if isinstance(told, dict):
        return {composed(key): composed(value) for key, value in told.items()}
    if isinstance(told, list):
        return [composed(one) for one in told]
    return told


def no_name(text: str) -> str:
    """Why a text cannot be a name, as a sentence; empty if it can."""
    if not text.strip():
        return "a name has signs."
    if text != text.strip():
        return f"{text[:LONGEST]!r} begins or ends with a blank."
    if len(text) > LONGEST:
        return f"{text[:40]!r} ... has {len(text):,} characters; a name has {LONGEST} at most."
    if any(unicodedata.category(sign) in _UNSEEN for sign in text):
        return f"{text!a} has a sign that nobody sees, so that it looks like another name."
    return ""


def of_file(name: str) -> str:
    """The name of a file as it is kept: composed, on one line, its end where it is too long."""
    seen = "".join(
        "\N{REPLACEMENT CHARACTER}" if unicodedata.category(sign) in _UNSEEN else sign
        for sign in composed(name).strip()
    )
    return seen if len(seen) <= LONGEST_OF_A_FILE else f"…{seen[1 - LONGEST_OF_A_FILE :]}"
