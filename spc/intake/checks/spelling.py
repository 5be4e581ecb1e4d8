"""The known names that come nearest to one that is not known."""

import difflib
import itertools
import re
import unicodedata
from collections import Counter
from collections.abc import Callable, Collection
from decimal import Decimal
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

# Names that share less than three quarters of their letters are not slips of one another.
_CUTOFF: Final = 0.75
# Tried one after the other: where enough names are very near, the many others are not compared.
_CUTOFFS: Final = (0.88, 0.82, _CUTOFF)
_NAMED: Final = 3
# A file with more unknown names than this has no slips of the pen but lacks what announces them.
_MOST_ASKED: Final = 50

# A number as spreadsheets write one, 100000 as 1E+05 too.
_NUMBER: Final = re.compile(r"[0-9]{1,12}(?:\.[0-9]{1,12})?(?:e[+-]?[0-9]{1,2})?")


def did_you_mean(known: Collection[str], *, otherwise: str) -> Callable[[str], str]:
    """What to do about a name that is not known: its nearest spellings, or something else.

    Parameters
    ----------
    known
        Names that it could be.
    otherwise
        What to do if it is none of them.
    """
    asked = itertools.count(1)

    @cache
    def by_bare() -> dict[str, list[str]]:
        found: dict[str, list[str]] = {}
        for one in known:
            found.setdefault(_bare(one), []).append(one)
        return found

    def advice(name: str) -> str:
        if next(asked) > _MOST_ASKED:
            return otherwise
        # A name that only a spreadsheet or a keyboard made unlike comes first.
        near = list(dict.fromkeys([*by_bare().get(_bare(name), []), *nearest(name, known)]))
        return f"Did you mean {' or '.join(near[:_NAMED])}? {otherwise}" if near else otherwise

    return advice


def _bare(name: str) -> str:
    """A name without what a spreadsheet or a keyboard changes: wide signs, zeros, exponents."""
    wide = unicodedata.normalize("NFKC", name).casefold()
    plain = "".join(sign for sign in wide if sign.isalnum() or sign in "+-.")
    if _NUMBER.fullmatch(plain):
        return f"{Decimal(plain):f}".lstrip("0").partition(".")[0] or "0"
    return plain or name


def nearest(name: str, known: Collection[str]) -> list[str]:
    """The three known names that are most alike, best first; fewer or none if few are near.

    The same as the standard library's close matches, which compares with every known name: here
    the letters that two names have in common, in whatever order, first tell which can be near.
    """
    names = [one for one in known if abs(len(one) - len(name)) <= len(name)]
    if not name or not names:
        return []
    most, near = _most_alike(name, names), []
    for cutoff in _CUTOFFS:
        possible = [names[place] for place in np.flatnonzero(most >= cutoff)]
        near = difflib.get_close_matches(name, possible, n=_NAMED, cutoff=cutoff)
        if len(near) == _NAMED:
            break
    return near


def _most_alike(name: str, names: list[str]) -> NDArray[np.float64]:
    """The highest ratio of alikeness that each name can have with one, by its letters alone."""
    letters = np.array(names, dtype=np.str_)
    lengths = np.strings.str_len(letters)
    common = np.zeros(len(names), dtype=np.int64)
    for letter, times in Counter(name).items():
        common += np.minimum(np.strings.count(letters, letter), times)
    return 2.0 * common / (lengths + len(name))
