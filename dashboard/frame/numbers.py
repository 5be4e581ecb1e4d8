"""Numbers that people type: with a decimal point or comma, and shown as they were understood."""

import re
from typing import Any, Final

import numpy as np
import streamlit as st

from dashboard.frame.escaping import marked
from spc.digits import THIN
from spc.errors import InvalidInput

# Blanks and marks that people put between thousands, and never before decimals.
_BETWEEN: Final = re.compile(rf"(?<=[0-9])[ '’\u00a0\u2009{THIN}](?=[0-9]{{3}}(?![0-9]))")
_NUMBER: Final = re.compile(r"[+-]?[0-9]+(?:[.,][0-9]+)?")
# 42,000 is forty-two to one person and forty-two thousand to another.  With a point it is what the
# fields themselves write, and the number below the field says how it was understood.
_OPEN: Final = re.compile(r"[+-]?[1-9][0-9]{0,2},[0-9]{3}")


def number_field(
    place: Any,
    label: str,
    value: float,
    *,
    least: float,
    most: float,
    whole: bool = False,
    **kept: Any,
) -> float:
    """A field for a number, outside of a form; what cannot be read stops the screen, and says why.

    Parameters
    ----------
    place
        Where it stands: a column, or the screen.
    value
        To begin with.
    kept
        Key of the field, and whether the address keeps it.
    """
    text = place.text_input(label, value=plainly(value), **kept)
    try:
        found = understood(text, label, least=least, most=most, whole=whole)
    except InvalidInput as problem:
        place.error(marked(str(problem)))
        st.stop()
    if text.strip() != plainly(found):
        place.caption(marked(f"Read as {plainly(found)}."))
    return found


def number_text(place: Any, label: str, value: float, **kept: Any) -> str:
    """A field for a number in a form; `understood` reads it once the form is sent."""
    return str(place.text_input(label, value=plainly(value), **kept))


def understood(text: str, label: str, *, least: float, most: float, whole: bool = False) -> float:
    """The number that a person typed.

    Raises
    ------
    InvalidInput
        If it is none, could be two, or lies outside of what the field takes.
    """
    bare = _BETWEEN.sub("", text.strip().replace("−", "-"))
    if not _NUMBER.fullmatch(bare):
        raise _refused(f"{text!r} is no number.", label, "Write one such as 500.5 or 500,5.")
    if _OPEN.fullmatch(bare):
        digits = bare.replace(",", "")
        raise _refused(
            f"{text!r} can be read in two ways.",
            label,
            f"Write {digits} without a sign between thousands, or {bare.replace(',', '.')}0.",
        )
    found = float(bare.replace(",", "."))
    if whole and not found.is_integer():
        raise _refused(f"{text!r} is no whole number.", label, "Write a whole number.")
    if not least <= found <= most:
        ends = f"{plainly(least)} to {plainly(most)}"
        raise _refused(f"{text!r} is not from {ends}.", label, "Write a number in that range.")
    return found


def plainly(value: float) -> str:
    """A number as a person would type it: no blanks, no exponent, no needless decimals."""
    return str(np.format_float_positional(float(f"{value:.10g}"), trim="-"))


def _refused(what: str, label: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where=label, remedy=remedy)
