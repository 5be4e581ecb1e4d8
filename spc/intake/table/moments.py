"""Texts of a file to moments: by the profile's form of date, never by guessing."""

from dataclasses import replace
from functools import partial
from types import MappingProxyType
from typing import Final

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from spc.intake.distinct import of_each
from spc.intake.profiles.date_forms import ISO
from spc.intake.profiles.profile import FileForm

# Kinds whose files have moments of their own, which their readers write in ISO form.
_TYPED: Final = ("workbook", "parquet")
# A time of day with its distance from UTC.
_OFFSET: Final = r":[0-9.]+\s*(?:Z|[+-][0-9:]+)$"
# A whole day, or a moment on it; a year or a month alone says neither.
_WHOLE: Final = (
    r"[0-9]{4}-[0-9]{2}-[0-9]{2}"
    r"(?:[ T][0-9]{2}:[0-9]{2}(?::[0-9]{2}(?:\.[0-9]{1,9})?)?(?:Z|[+-][0-9]{2}:?[0-9]{2})?)?"
)
# How nearly every moment is written, on a day that its month always has.
_DAY: Final = (
    r"[12][0-9]{3}-"
    r"(?:(?:0[13-9]|1[0-2])-(?:0[1-9]|[12][0-9]|30)|02-(?:0[1-9]|1[0-9]|2[0-8]))"
)
_TIME: Final = r"(?:[01][0-9]|2[0-3]):[0-5][0-9]:[0-5][0-9]"
_PLAIN: Final = MappingProxyType(
    {
        "%Y-%m-%d": _DAY,
        "%Y-%m-%d %H:%M:%S": f"{_DAY} {_TIME}",
        "%Y-%m-%dT%H:%M:%S": f"{_DAY}T{_TIME}",
        ISO: f"{_DAY}(?:[ T]{_TIME})?",
    }
)


def moments(texts: pd.Series, form: FileForm) -> pd.Series:
    """Read texts as moments in UTC without zone; NaT where a text is not one.

    Notes
    -----
    The moments of workbooks and Parquet files come in ISO form, whatever form the texts beside them
    have.  What is another moment by the one form than by the other is none.
    """
    return of_each(texts, partial(_moments, form=form))


def doubtful_hours(texts: pd.Series, form: FileForm) -> pd.Series:
    """What is wrong with local times in an hour in which the clocks are changed.

    Parameters
    ----------
    texts
        Those that are no moments.

    Returns
    -------
    Series of str
        ``"comes twice"``, ``"does not exist"``, or empty where it is not the hour that is wrong.
    """
    local = moments(texts, replace(form, time_zone="UTC"))
    later = local.dt.tz_localize(form.time_zone, ambiguous="NaT", nonexistent="shift_forward")
    skipped = np.where(later.notna(), "does not exist", "comes twice")
    return pd.Series(np.where(local.notna(), skipped, ""), index=texts.index, dtype="str")


def _moments(texts: pd.Series, form: FileForm) -> pd.Series:
    said = _said(texts, form.date_format, form.time_zone)
    if form.kind not in _TYPED or form.date_format == ISO:
        return said
    typed = _said(texts, ISO, form.time_zone)
    contradicting = said.notna() & typed.notna() & (said != typed)
    return said.fillna(typed).mask(contradicting)


def _said(texts: pd.Series, style: str, time_zone: str) -> pd.Series:
    if style != ISO:
        return _in_utc(texts, style, time_zone, offset="%z" in style)
    usable = texts.where(texts.str.fullmatch(_WHOLE), "")
    offset = usable.str.contains(_OFFSET)
    said = _in_utc(usable.mask(offset, ""), ISO, time_zone, offset=False)
    if offset.any():
        said[offset] = _in_utc(usable[offset], ISO, time_zone, offset=True)
    return said


def _in_utc(texts: pd.Series, style: str, time_zone: str, *, offset: bool) -> pd.Series:
    local = pd.Series(_local(texts, style, offset=offset), index=texts.index)
    if offset or time_zone == "UTC":
        return local
    # An hour that the clocks skip or repeat is not guessed.
    zoned = local.dt.tz_localize(time_zone, ambiguous="NaT", nonexistent="NaT")
    shifted: pd.Series = zoned.dt.tz_convert("UTC").dt.tz_localize(None)
    return shifted


def _local(texts: pd.Series, style: str, *, offset: bool) -> NDArray[np.datetime64]:
    moments = np.empty(len(texts), dtype="datetime64[us]")
    plain = np.zeros(len(texts), dtype=bool)
    if style in _PLAIN:
        plain = texts.str.fullmatch(_PLAIN[style]).to_numpy(dtype=bool)
    moments[plain] = pc.cast(pa.array(texts[plain]), pa.timestamp("us"))
    moments[~plain] = _others(texts[~plain], style, offset=offset)
    return moments


def _others(texts: pd.Series, style: str, *, offset: bool) -> pd.Series:
    # Words such as "now" would be read as the moment of reading; a text with an offset among
    # others without would be refused as a whole.
    usable = texts.str.contains("[0-9]") & (texts.str.contains(_OFFSET) == offset)
    local = pd.to_datetime(texts.where(usable), format=style, errors="coerce", utc=offset)
    return local.dt.tz_localize(None) if offset else local
