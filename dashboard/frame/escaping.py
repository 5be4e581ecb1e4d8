"""Texts of files and people where signs mean something: on screens and in the terminal.

HTML is escaped by `html.escape` in the blocks, CSV and XLSX by `exports`; pages are set from data,
which `paper` hands over as JSON, so that no text of them is markup.
"""

import re
from typing import Final

# An underscore within a word, a colon before a blank and the like mean nothing and stay.
_MARKDOWN: Final = re.compile(r"([\\`*\[\]<~$]|(?<!\w)_|_(?!\w)|:(?=[a-zA-Z/]))")
# What moves the cursor, rings, colours, or turns the direction of what follows.
_UNSEEN: Final = re.compile(
    "[\x00-\x08\x0b-\x1f\x7f-\x9f\u061c\u200b-\u200f\u2028-\u202e\u2060-\u2069\ufeff]"
)
_LINES: Final = re.compile(r"\s*[\r\n]+\s*")
# Begins a list, a heading, or a quotation where a line begins.
_BEGINNING: Final = re.compile(r"^\s*(?=[-+#>]|[0-9]+[.)]\s|[|=])")


def plain(text: str) -> str:
    """A text that Markdown shows as it stands, in one paragraph."""
    line = _LINES.sub(" ", text)
    safe = _escaped(line)
    # A sign that nobody sees and that takes no room: what follows it begins no line.
    return _BEGINNING.sub("\N{ZERO WIDTH SPACE}", safe)


def marked(text: str) -> str:
    """A sentence of ours with names in it: its bold words and lists stay, no more is markup."""
    return "\n".join(_marked_line(line) for line in text.split("\n"))


def _marked_line(line: str) -> str:
    item = "- " if line.startswith("- ") else ""
    first, *others = line.removeprefix(item).split("**")
    return item + "**".join([plain(first), *map(_escaped, others)])


def _escaped(text: str) -> str:
    return _MARKDOWN.sub(r"\\\1", _UNSEEN.sub("\N{REPLACEMENT CHARACTER}", text))


def seen(text: str) -> str:
    """A text that a terminal shows and does not obey."""
    return _UNSEEN.sub("\N{REPLACEMENT CHARACTER}", text)
