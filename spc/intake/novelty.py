"""Which of what a file says is new, known already, or contradicts what is known."""

from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd

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
    columns = [key, *facts]
    first = pd.concat([existing[columns], said[columns]]).drop_duplicates(subset=key)
    match = first.set_index(key).loc[said[key].to_numpy(), list(facts)]
    equal = np.ones(len(said), dtype=bool)
    for fact in facts:
        before, now = match[fact].to_numpy(dtype=object), said[fact].to_numpy(dtype=object)
        absent = pd.isna(before) & pd.isna(now)
        equal &= absent | (before == now)
    fresh = ~said[key].isin(existing[key]).to_numpy() & ~said[key].duplicated().to_numpy()
    status = np.where(fresh, NEW, np.where(equal, KNOWN, CHANGED))
    return pd.Series(status, index=said.index, dtype="str")
