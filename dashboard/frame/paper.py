"""From values and a template to a PDF that is the same on every machine, byte for byte."""

import json
import re
from collections.abc import Mapping, Sequence
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any, Final

import typst

from dashboard.frame.theme import FONT, LIGHT

_DASHBOARD: Final = Path(__file__).parents[1]
_NO_SIGN: Final = "\N{REPLACEMENT CHARACTER}"
_BLANK: Final = re.compile(r"[\t\n\r]+")
# Control signs and halves of signs are no text; signs that turn the direction of writing would
# let one text pass for another.
_UNSHOWN: Final = re.compile(
    "[\x00-\x1f\x7f-\x9f\u061c\u200e\u200f\u202a-\u202e\u2066-\u2069\ud800-\udfff\ufffe\uffff]"
)

# Scripts and pictures that no typeface at hand can draw: an empty box would tell nothing.
_UNDRAWN: Final = re.compile("[\u0590-\u1cff\u2c00-\ufaff\U00010000-\U0010ffff]")


def pdf(template: str, told: Mapping[str, Any], *, printed_at: datetime) -> bytes:
    """A report as PDF.

    Parameters
    ----------
    template
        A room's template, such as ``lots/paper.typ``.
    told
        What it shows: JSON values, never taken for markup.
    printed_at
        The document's date; it takes the place of a clock.

    Returns
    -------
    bytes
        Vector figures, text that can be searched, the one typeface embedded.
    """
    page = {
        **told,
        "look": {"font": FONT, "ink": LIGHT.ink, "quiet": LIGHT.quiet, "line": LIGHT.line},
        "date": list(utc(printed_at).timetuple()[:6]),
    }
    return typst.compile(
        _DASHBOARD / template,
        root=_DASHBOARD,
        font_paths=_fonts(),
        sys_inputs={"data": json.dumps(printable(page))},
    )


def printable(value: Any) -> Any:
    """The same value without signs that no page can carry; nothing is left out silently.

    Parameters
    ----------
    value
        A text, or mappings and lists of texts and numbers.

    Returns
    -------
    Any
        Control signs and halves of signs are shown as the sign that stands for one not known,
        signs that cannot be drawn by their number in Unicode: ``"[U+6F22]"``.
    """
    if isinstance(value, str):
        shown = _UNSHOWN.sub(_NO_SIGN, _BLANK.sub(" ", value))
        return _UNDRAWN.sub(lambda sign: f"[U+{ord(sign[0]):04X}]", shown)
    if isinstance(value, Mapping):
        return {key: printable(one) for key, one in value.items()}
    if isinstance(value, Sequence):
        return [printable(one) for one in value]
    return value


def utc(moment: datetime) -> datetime:
    """A moment in UTC; one without a zone is taken to be in it already."""
    return moment if moment.tzinfo is None else moment.astimezone(UTC)


def font_folder() -> str:
    """Where the typeface lies."""
    return str(_DASHBOARD / "static")


@cache
def _fonts() -> typst.Fonts:
    """Ours, and for signs it lacks those that come with typst; never the machine's."""
    return typst.Fonts(include_system_fonts=False, font_paths=[font_folder()])


Told = dict[str, Any]


def short(text: str, most: int) -> str:
    """The beginning of a long text, and that it goes on."""
    return text if len(text) <= most else f"{text[: most - 1]}…"
