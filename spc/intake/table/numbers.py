"""Texts of a file to numbers: by the profile's rules, never by guessing."""

import re
from collections.abc import Collection
from dataclasses import dataclass
from functools import partial
from typing import Final

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

from spc.intake.distinct import of_each
from spc.intake.profiles.profile import FileForm
from spc.intake.table.dressed import undressed

_MARKS: Final = {"≤": "<", "≥": ">"}
MARKS: Final = pd.CategoricalDtype(pd.Index(["", "<", ">"], dtype="str"))
# Texts that stand for "below what the method can quantify", whatever that limit is.
_BELOW_LIMIT: Final = r"<\s*(?:LOQ|LOD|QL)"
_ABOVE_RANGE: Final = r">\s*(?:ULOQ|range)"
# Blanks that part thousands.
BLANKS: Final = (
    " ",
    "\N{NO-BREAK SPACE}",
    "\N{FIGURE SPACE}",
    "\N{THIN SPACE}",
    "\N{NARROW NO-BREAK SPACE}",
)
# Nothing that is weighed, counted or measured lies outside; what does would overflow further on.
_SMALLEST: Final = 1e-15
_LARGEST: Final = 1e15
# How nearly every number is written; the columnar library rounds these correctly, as Python does.
_PLAIN: Final = r"-?[0-9]{1,15}(?:\.[0-9]{1,15})?"


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
    above_range
        The text says only that the value lies above the calibrated range.
    ambiguous
        Could be read in two ways that differ a thousand-fold.
    unreadable
        Neither empty nor a number that anything measures.
    """

    value: pd.Series
    mark: pd.Series
    empty: pd.Series
    below_limit: pd.Series
    above_range: pd.Series
    ambiguous: pd.Series
    unreadable: pd.Series


def numbers(texts: pd.Series, form: FileForm, *, own: Collection[str] = ()) -> Numbers:
    """Read texts as numbers by the decimal and thousands signs of the profile.

    Parameters
    ----------
    own
        Units that may follow a number without changing it.
    """
    found = of_each(texts, partial(_numbers, form=form, own=own))
    return Numbers(**{str(name): found[name] for name in found})


def _numbers(texts: pd.Series, form: FileForm, own: Collection[str]) -> pd.DataFrame:
    """The columns of `Numbers`."""
    empty = texts.isin(list(form.missing))
    if form.thousands in BLANKS:
        texts = _one_blank(texts, form.thousands)
    mark, body = _split(texts, form, own)
    below_limit = _says(texts, mark == "<", _BELOW_LIMIT, form.below_limit) & ~empty
    above_range = _says(texts, mark == ">", _ABOVE_RANGE, form.above_range) & ~empty
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
            "above_range": above_range,
            "ambiguous": ambiguous,
            "unreadable": ~(empty | well_formed | below_limit | above_range) | beyond,
        }
    )


def _one_blank(texts: pd.Series, blank: str) -> pd.Series:
    """Between digits one blank looks like another, and any of them is typed for the one meant."""
    return texts.str.replace(rf"(?<=[0-9])[{''.join(BLANKS)}](?=[0-9])", blank, regex=True)


def _says(texts: pd.Series, marked: pd.Series, words: str, own: Collection[str]) -> pd.Series:
    """Which texts say a limit in words: in those that all know, or in the profile's own."""
    said = texts.where(marked, "").str.fullmatch(words, case=False).astype(bool)
    if own:
        said |= texts.str.casefold().isin([word.casefold() for word in own])
    return said


def _split(texts: pd.Series, form: FileForm, own: Collection[str]) -> tuple[pd.Series, pd.Series]:
    """The mark before a number, and the number; the few texts that may have one are looked at."""
    mark, body = pd.Series("", index=texts.index, dtype="str"), texts.copy()
    other = ~texts.str.fullmatch(_pattern(form))
    if other.any():
        split = texts[other].str.extract(r"^([<>≤≥]?)\s*(.*)$").fillna("")
        mark[other], body[other] = split[0].replace(_MARKS), undressed(split[1], form, own)
    return mark, body


def _floats(texts: pd.Series) -> NDArray[np.float64]:
    """Correctly rounded; no text says "NaN" by itself, since the pattern has none."""
    plain = texts.str.fullmatch(_PLAIN).to_numpy(dtype=bool)
    values = np.empty(len(texts))
    values[plain] = pc.cast(pa.array(texts[plain]), pa.float64())
    values[~plain] = [float(text) for text in texts[~plain]]
    return values


def _pattern(form: FileForm) -> str:
    point = re.escape(form.decimal)
    whole = r"[0-9]+"
    if form.thousands:
        whole = rf"(?:[0-9]{{1,3}}(?:{re.escape(form.thousands)}[0-9]{{3}})+|[0-9]+)"
    return rf"[+-]?{whole}(?:{point}[0-9]+)?(?:[eE][+-]?[0-9]{{1,2}})?"


def _ambiguous(body: pd.Series, form: FileForm) -> pd.Series:
    """In a file with thousands commas, 40.000 may be forty or forty thousand; 0.125 may not."""
    if form.thousands not in (".", ","):
        return pd.Series(data=False, index=body.index)
    return body.str.fullmatch(rf"[+-]?[1-9][0-9]{{0,2}}{re.escape(form.decimal)}[0-9]{{3}}")
