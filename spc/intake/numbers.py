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
        Neither empty nor a number.
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
    return Numbers(
        value=pd.to_numeric(plain).astype(np.float64),
        mark=mark.where(well_formed, ""),
        empty=empty,
        below_limit=below_limit,
        ambiguous=ambiguous,
        unreadable=~(empty | well_formed | below_limit),
    )


def moments(texts: pd.Series, form: FileForm) -> pd.Series:
    """Read texts as moments in UTC without zone; NaT where a text is not one.

    A workbook's dates arrive already typed and are written in ISO form by the reader.
    """
    style = "ISO8601" if form.kind == "workbook" else form.date_format
    local = pd.to_datetime(texts, format=style, errors="coerce")
    if form.time_zone == "UTC":
        return local
    # An hour that the clocks skip or repeat is not guessed.
    zoned = local.dt.tz_localize(form.time_zone, ambiguous="NaT", nonexistent="NaT")
    return zoned.dt.tz_convert("UTC").dt.tz_localize(None)


def _pattern(form: FileForm) -> str:
    point = re.escape(form.decimal)
    whole = r"\d+"
    if form.thousands:
        whole = rf"(?:\d{{1,3}}(?:{re.escape(form.thousands)}\d{{3}})+|\d+)"
    return rf"[+-]?{whole}(?:{point}\d+)?(?:[eE][+-]?\d+)?"


def _ambiguous(body: pd.Series, form: FileForm) -> pd.Series:
    """In a file with thousands signs, 40.000 may be forty or forty thousand."""
    if not form.thousands:
        return pd.Series(data=False, index=body.index)
    return body.str.fullmatch(rf"[+-]?\d{{1,3}}{re.escape(form.decimal)}\d{{3}}")
