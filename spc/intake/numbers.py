"""Texts of a file to numbers and times: by the profile's rules, never by guessing."""

import re
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd

from spc.intake.profile import FileForm

_MARKS: Final = {"≤": "<", "≥": ">"}
# Texts that stand for "below what the method can quantify", whatever that limit is.
_BELOW_LIMIT: Final = r"<\s*(?:LOQ|LOD|QL)"
# A time of day with its distance from UTC.
_OFFSET: Final = r":[0-9.]+\s*(?:Z|[+-][0-9:]+)$"
# Nothing that is weighed, counted or measured lies outside; what does would overflow further on.
_SMALLEST: Final = 1e-15
_LARGEST: Final = 1e15


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Numbers:
    """What texts say as numbers, all indexed as the texts.

    Attributes
    ----------
    value
        NaN where there is none.
    mark
        ``""``, ``"<"`` or ``">"``.
    empty
        Nothing was measured.
    below_limit
        The text says only that the value lies below the quantification limit.
    ambiguous
        Could be read in two ways that differ a thousand-fold.
    unreadable
        Neither empty nor a number that anything measures.
    """

    value: pd.Series
    mark: pd.Series
    empty: pd.Series
    below_limit: pd.Series
    ambiguous: pd.Series
    unreadable: pd.Series


def numbers(texts: pd.Series, form: FileForm) -> Numbers:
    """Read texts as numbers by the decimal and thousands signs of the profile."""
    empty = texts.isin(list(form.missing))
    split = texts.str.extract(r"^([<>≤≥]?)\s*(.*)$")
    mark = split[0].fillna("").replace(_MARKS)
    body = split[1].fillna("")
    below_limit = texts.str.fullmatch(_BELOW_LIMIT, case=False) & ~empty
    well_formed = body.str.fullmatch(_pattern(form)) & ~empty
    ambiguous = well_formed & _ambiguous(body, form)
    plain = body.where(well_formed & ~ambiguous)
    if form.thousands:
        plain = plain.str.replace(form.thousands, "", regex=False)
    if form.decimal != ".":
        plain = plain.str.replace(form.decimal, ".", regex=False)
    # Python's own reading is correctly rounded, and knows no "NaN" here: the pattern has none.
    read = [float(text) for text in plain.fillna("nan")]
    value = pd.Series(read, index=texts.index, dtype=np.float64)
    beyond = (value != 0.0) & ~value.abs().between(_SMALLEST, _LARGEST) & value.notna()
    return Numbers(
        value=value.mask(beyond),
        mark=mark.where(well_formed, ""),
        empty=empty,
        below_limit=below_limit,
        ambiguous=ambiguous,
        unreadable=~(empty | well_formed | below_limit) | beyond,
    )


def moments(texts: pd.Series, form: FileForm) -> pd.Series:
    """Read texts as moments in UTC without zone; NaT where a text is not one.

    A workbook's dates arrive already typed and are written in ISO form by the reader.
    """
    style = "ISO8601" if form.kind == "workbook" else form.date_format
    # Words such as "now" would be read as the moment of reading; a text with an offset among
    # others without would be refused as a whole.
    offset = "%z" in style
    usable = texts.str.contains("[0-9]") & (texts.str.contains(_OFFSET) == offset)
    local = pd.to_datetime(texts.where(usable), format=style, errors="coerce", utc=offset)
    if offset:
        return local.dt.tz_localize(None)
    if form.time_zone == "UTC":
        return local
    # An hour that the clocks skip or repeat is not guessed.
    zoned = local.dt.tz_localize(form.time_zone, ambiguous="NaT", nonexistent="NaT")
    return zoned.dt.tz_convert("UTC").dt.tz_localize(None)


def _pattern(form: FileForm) -> str:
    point = re.escape(form.decimal)
    whole = r"[0-9]+"
    if form.thousands:
        whole = rf"(?:[0-9]{{1,3}}(?:{re.escape(form.thousands)}[0-9]{{3}})+|[0-9]+)"
    return rf"[+-]?{whole}(?:{point}[0-9]+)?(?:[eE][+-]?[0-9]{{1,2}})?"


def _ambiguous(body: pd.Series, form: FileForm) -> pd.Series:
    """In a file with thousands signs, 40.000 may be forty or forty thousand."""
    if not form.thousands:
        return pd.Series(data=False, index=body.index)
    return body.str.fullmatch(rf"[+-]?[0-9]{{1,3}}{re.escape(form.decimal)}[0-9]{{3}}")
