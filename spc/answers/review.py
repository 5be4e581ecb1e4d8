"""Lots judged on the evidence there is: those asked for, or every one that waits."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import pandas as pd

from spc.acceptance import LotVerdict
from spc.store import Store


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LotsReviewed:
    """Lots with their verdicts.

    Attributes
    ----------
    lots
        One row each, as `Store.lots` tells them, by number and in the order asked.
    verdicts
        By number.
    today
        The day of the store, on which they were judged.
    """

    lots: pd.DataFrame
    verdicts: Mapping[str, LotVerdict]
    today: date


def review_lots(store: Store, lots: Sequence[str] = ()) -> LotsReviewed:
    """Judge lots, or every one that waits for a decision, oldest first.

    Parameters
    ----------
    store
        Is read only.
    lots
        Their numbers; none for all that wait.

    Returns
    -------
    LotsReviewed

    Raises
    ------
    UnknownName
        If there is no such lot, or its material has no specification.
    """
    names = [store.lot(one).lot for one in lots] or list(store.lots(waiting=True)["lot"])
    return LotsReviewed(
        lots=store.lots().set_index("lot").loc[names],
        verdicts=store.verdicts(names),
        today=store.today(),
    )
