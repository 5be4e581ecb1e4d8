"""Texts of a file to numbers and times: by the profile's rules, never by guessing."""

import re
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType
from typing import Final

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from spc.intake.distinct import of_each
from spc.intake.profile import FileForm

_MARKS: Final = {"≤": "<", "≥": ">"}
MARKS: Final = pd.CategoricalDtype(pd.Index(["", "<", ">"], dtype="str"))
# Texts that stand for "below what the method can quantify", whatever that limit is.
_BELOW_LIMIT: Final = r"<\s*(?:LOQ|LOD|QL)"
# A time of day with its distance from UTC.
_OFFSET: Final = r":[0-9.]+\s*(?:Z|[+-][0-9:]+)$"
# Nothing that is weighed, counted or measured lies outside; what does would overflow further on.
_SMALLEST: Final = 1e-15
_LARGEST: Final = 1e15
# How nearly every number is written; the columnar library rounds these correctly, as Python does.
_PLAIN: Final = r"-?[0-9]{1,15}(?:\.[0-9]{1,15})?"
# How nearly every moment is written, on a day that its month always has.
_DAY: Final = (
    r"[12][0-9]{3}-"
    r"(?:(?:0[13-9]|1[0-2])-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|1[0-9]|2[0-8]))"
)
_TIME: Final = r"(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]"
_PLAIN_MOMENTS: Final = MappingProxyType(
    {
        "%Y-%m-%d": _DAY,
        "%Y-%m-%d %H:%M:%S": f"{_DAY} {_TIME}",
        "%Y-%m-%dT%H:%M:%S": f"{_DAY}T{_TIME}",
    }
)


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
    found = of_each(texts, partial(_numbers, form=form))
    return Numbers(**{str(name): found[name] for name in found})


def moments(texts: pd.Series, form: FileForm) -> pd.Series:
    """Read texts as moments in UTC without zone; NaT where a text is not one.

    A workbook's dates arrive already typed and are written in ISO form by the reader.
    """
    return of_each(texts, partial(_moments, form=form))


def _numbers(texts: pd.Series, form: FileForm) -> pd.DataFrame:
    """The columns of `Numbers`."""
    empty = texts.isin(list(form.missing))
    mark, body = _split(texts, form)
    below_limit = (mark == "<") & ~empty
    below_limit &= texts.where(below_limit, "").str.fullmatch(_BELOW_LIMIT, case=False)
    well_formed = body.str.fullmatch(_pattern(form)) & ~empty
    ambiguous = well_formed & _ambiguous(body, form)
    plain = body.where(well_formed & ~ambiguous, "nan")
    if form.thousands:
        plain = plain.str.replace(form.thousands, "", regex=False)
    if form.decimal != ".":
        plain = plain.str.replace(form.decimal, ".", regex=False)
    value = pd.Series(_floats(plain), index=texts.index)
    beyond = (value != 0.0) & ~value.abs().between(_SMALLEST, _LARGEST) & value.notna()
    return pd.DataFrame(
        {
            "value": value.mask(beyond),
            "mark": mark.where(well_formed, "").astype(MARKS),
            "empty": empty,
            "below_limit": below_limit,
            "ambiguous": ambiguous,
            "unreadable": ~(empty | well_formed | below_limit) | beyond,
        }
    )


def _split(texts: pd.Series, form: FileForm) -> tuple[pd.Series, pd.Series]:
    """The mark before a number, and the number; the few texts that may have one are looked at."""
    mark, body = pd.Series("", index=texts.index, dtype="str"), texts.copy()
    other = ~texts.str.fullmatch(_pattern(form))
    if other.any():
        split = texts[other].str.extract(r"^([<>≤≥]?)\s*(.*)$").fillna("")
        mark[other], body[other] = split[0].replace(_MARKS), split[1]
    return mark, body


def _floats(texts: pd.Series) -> NDArray[np.float64]:
    """Correctly rounded; no text says "NaN" by itself, since the pattern has none."""
    plain = texts.str.fullmatch(_PLAIN).to_numpy(dtype=bool)
    values = np.empty(len(texts))
    values[plain] = pc.cast(pa.array(texts[plain]), pa.float64())
    values[~plain] = [float(text) for text in texts[~plain]]
    return values


def _moments(texts: pd.Series, form: FileForm) -> pd.Series:
    style = "ISO8601" if form.kind == "workbook" else form.date_format
    local = pd.Series(_local(texts, style), index=texts.index)
    if "%z" in style or form.time_zone == "UTC":
        return local
    # An hour that the clocks skip or repeat is not guessed.
    zoned = local.dt.tz_localize(form.time_zone, ambiguous="NaT", nonexistent="NaT")
    shifted: pd.Series = zoned.dt.tz_convert("UTC").dt.tz_localize(None)
    return shifted


def _local(texts: pd.Series, style: str) -> NDArray[np.datetime64]:
    moments = np.empty(len(texts), dtype="datetime64[us]")
    plain = np.zeros(len(texts), dtype=bool)
    if style in _PLAIN_MOMENTS:
        plain = texts.str.fullmatch(_PLAIN_MOMENTS[style]).to_numpy(dtype=bool)
    moments[plain] = pc.cast(pa.array(texts[plain]), pa.timestamp("us"))
    moments[~plain] = _other_moments(texts[~plain], style)
    return moments


def _other_moments(texts: pd.Series, style: str) -> pd.Series:
    # Words such as "now" would be read as the moment of reading; a text with an offset among
    # others without would be refused as a whole.
    offset = "%z" in style
    usable = texts.str.contains("[0-9]") & (texts.str.contains(_OFFSET) == offset)
    local = pd.to_datetime(texts.where(usable), format=style, errors="coerce", utc=offset)
    return local.dt.tz_localize(None) if offset else local


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
