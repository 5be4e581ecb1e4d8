"""Which of what a file says is new, known already, or contradicts what is known."""

from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd

from spc.intake.distinct import decoded

NEW: Final = "new"
KNOWN: Final = "known"
CHANGED: Final = "changed"


def novelty(
    said: pd.DataFrame, existing: pd.DataFrame, *, key: str, facts: Sequence[str]
) -> pd.Series:
    """Compare what is said with what exists, or with its own first mention in the same file.

    Parameters
    ----------
    said, existing
        Frames that share the columns `key` and `facts`; `existing` has each key once.
    key
        What names a thing.
    facts
        What must be equal for it to be the same.

    Returns
    -------
    Series of str
        ``"new"``, ``"known"`` or ``"changed"``, indexed as `said`.
    """
    if said.empty:
        return pd.Series(index=said.index, dtype="str")
    columns = [key, *facts]
    every = pd.concat([existing[columns], decoded(said[columns])], ignore_index=True)
    own = np.arange(len(existing), len(every))
    named, _ = pd.factorize(every[key])
    mention = np.flatnonzero(~every[key].duplicated())[named[own]]
    equal = np.ones(len(said), dtype=bool)
    for fact in facts:
        # What is absent has one code, and is equal to what is absent.
        codes, _ = pd.factorize(every[fact])
        equal &= codes[mention] == codes[own]
    status = np.where(mention == own, NEW, np.where(equal, KNOWN, CHANGED))
    return pd.Series(status, index=said.index, dtype="str")
