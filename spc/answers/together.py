"""All characteristics of a supplier's lots in one distance."""

from collections.abc import Collection
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc import charts
from spc.charts.lots import EXACT
from spc.errors import InvalidInput
from spc.store import StreamKey, Survey

# A characteristic measured on fewer of the lots would cost more lots than it tells.
_COMMON: Final = 0.8


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AllTogether:
    """One distance for all characteristics of each lot that has them all, in order of receipt.

    Attributes
    ----------
    lots
        Numbers.
    received_at
        When each came.  Shape (lots,).
    distance, signals
        Squared distance from what is usual, and where it lies outside.  Shape (lots,).
    upper
        Limit of the distance.  Shape (lots,).
    in_baseline
        Lots that say what is usual.  Shape (lots,).
    contributions
        What each characteristic adds given the others: one row a lot, one column each.
    """

    lots: tuple[str, ...]
    received_at: NDArray[np.datetime64]
    distance: NDArray[np.float64]
    upper: NDArray[np.float64]
    signals: NDArray[np.bool_]
    in_baseline: NDArray[np.bool_]
    contributions: pd.DataFrame

    @property
    def largest(self) -> list[str]:
        """The characteristic that adds most to each lot's distance."""
        return [str(name) for name in self.contributions.idxmax(axis=1)]


def all_together(survey: Survey, key: StreamKey, declared: Collection[str]) -> AllTogether:
    """How far each lot of a supplier lies from what is usual, all characteristics taken together.

    Parameters
    ----------
    survey
        From `store.sweep()`.
    key
        A stream of the material and the supplier.
    declared
        Methods that are the supplier's word; see `declared_methods`.

    Returns
    -------
    AllTogether
        Of the lots with every characteristic, each by the method with most lots.

    Raises
    ------
    InvalidInput
        If fewer than two characteristics have enough lots in common.
    """
    wide, points = _complete(survey, key, declared)
    if wide.shape[1] < 2:
        raise InvalidInput(
            "fewer than two characteristics were measured of the same lots.",
            where=f"{key.material} from {key.supplier}",
            remedy="Look at one characteristic at a time.",
        )
    lots = points.set_index("lot")
    member = lots["baseline"].reindex(wide.index, fill_value=False).to_numpy(dtype=np.bool_)
    found = charts.t_squared(wide.to_numpy(), baseline=member)
    return AllTogether(
        lots=tuple(str(lot) for lot in wide.index),
        received_at=lots.loc[wide.index, "received_at"].to_numpy(),
        distance=found.values,
        upper=found.upper,
        signals=found.signals,
        in_baseline=member,
        contributions=pd.DataFrame(found.contributions, columns=wide.columns, index=wide.index),
    )


def _complete(
    survey: Survey, key: StreamKey, declared: Collection[str]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Lots by characteristic on their scales, of the method with most lots each, complete only."""
    points = survey.points
    mine = points[
        (points["material"] == key.material)
        & (points["supplier"] == key.supplier)
        & ~points["method"].isin(list(declared))
        & (points["censored"] == EXACT)
    ]
    worked = np.where(mine["scale"] == "log", np.log(mine["value"].where(mine["value"] > 0)), 0.0)
    mine = mine.assign(worked=np.where(mine["scale"] == "log", worked, mine["value"]))
    often = mine.groupby(["characteristic", "stream"]).size().reset_index(name="lots")
    best = often.sort_values("lots", ascending=False).drop_duplicates("characteristic")
    common = best[best["lots"] >= _COMMON * best["lots"].max()]
    chosen = mine[mine["stream"].isin(common["stream"])]
    order = chosen.drop_duplicates("lot").sort_values(["received_at", "lot"])["lot"]
    wide = chosen.pivot_table(index="lot", columns="characteristic", values="worked")
    first = chosen[chosen["stream"] == common["stream"].iloc[0]] if len(common) else chosen
    wide = wide.dropna()
    return wide.reindex([lot for lot in order if lot in wide.index]), first
