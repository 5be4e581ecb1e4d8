"""Names from files: one spelling for what looks the same, and none too long or unseen to be one."""

from typing import Final

import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

from spc.intake.checks.holds import Holds
from spc.intake.distinct import as_texts, of_each, plain, reworded
from spc.intake.names import LONGEST
from spc.intake.profiles.profile import DATES, SourceProfile

# Signs that nobody sees: line ends, and those that turn or join what stands around them.
_UNSEEN: Final = r"[\p{Cc}\p{Cf}\p{Zl}\p{Zp}]"
_NUMBERS: Final = ("extract_mass_g", "extract_volume_mL", "cell_dilution", "harvest_year")
_MORE_NUMBERS: Final = ("packages", "package_kg", "price_per_kg", "reason")


def normal(texts: pd.Series) -> pd.Series:
    """Texts in the composed form of Unicode, so that names which look alike are alike."""
    return texts if _is_ascii(texts) else reworded(texts, _composed)


def hold_odd_names(cells: pd.DataFrame, profile: SourceProfile, holds: Holds) -> None:
    """Hold the rows with a name that is too long, or has signs that nobody sees.

    Parameters
    ----------
    cells
        The columns that the profile maps.
    """
    groups = (profile.columns, profile.lots, profile.decisions)
    passed = {*DATES, *_NUMBERS, *_MORE_NUMBERS}
    named = {
        header
        for group in groups
        for meaning, headers in group.items()
        if meaning not in passed
        for header in headers
    }
    for header in sorted(named):
        texts = cells[header]
        holds.add(
            of_each(texts, _too_long),
            "too-long-name",
            about=texts,
            reason=lambda text, header=header: (
                f"{header} has {len(text):,} characters ({text[:40]!r} ...); a name has {LONGEST}"
                " at most."
            ),
            remedy="Look for a remark in the wrong column, and correct the cell on Intake.",
        )
        holds.add(
            of_each(texts, _has_unseen),
            "unseen-sign",
            about=texts,
            reason=lambda text, header=header: (
                f"{header} {text!a} has a sign that nobody sees, so that it looks like another"
                " name."
            ),
            remedy="Type the name anew on Intake.",
        )


def _is_ascii(texts: pd.Series) -> bool:
    if isinstance(texts.dtype, pd.CategoricalDtype):
        return bool(pc.all(pc.string_is_ascii(pa.array(texts.cat.categories))).as_py() is not False)
    return bool(pc.all(pc.string_is_ascii(pa.array(texts))).as_py() is not False)


def _composed(texts: pd.Series) -> pd.Series:
    return as_texts(pc.utf8_normalize(plain(texts), form="NFC"), texts.index)


def _too_long(texts: pd.Series) -> pd.Series:
    return pd.Series(texts.str.len() > LONGEST, index=texts.index).astype(bool)


def _has_unseen(texts: pd.Series) -> pd.Series:
    found = pc.match_substring_regex(plain(texts), _UNSEEN)
    return pd.Series(found.to_numpy(zero_copy_only=False), index=texts.index).astype(bool)
