"""What the suppliers of a recipe can hold: blends of their next lots against what is asked."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

import pandas as pd

from spc import units
from spc.answers.blends.order import BlendOrder
from spc.answers.methods import declared_methods
from spc.answers.specified_lines import HEAT
from spc.blend.odds import Predicted
from spc.blend.outlook.future import FEWEST_LOTS, FutureBlends, FutureStream, future_blends
from spc.blend.outlook.learning import LearnedBias
from spc.blend.problem.stock import MOISTURE
from spc.blend.problem.target import Window
from spc.blend.recipe import Recipe
from spc.charts.lots import EXACT
from spc.heat import dry_basis
from spc.store import Store, Survey


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SupplierRecords:
    """What was measured of the suppliers' lots.

    Attributes
    ----------
    points, signals
        From a survey of all streams.
    declared
        Methods that are the supplier's word; they are left out.
    heat_shift
        What measured blends taught of the model's heat, on log scale; 0 for nothing.
    """

    points: pd.DataFrame
    signals: pd.DataFrame
    declared: Collection[str]
    heat_shift: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NextLots:
    """One characteristic of blends that today's suppliers would make of their next lots.

    Attributes
    ----------
    window
        What is asked.
    streams
        What each supplier's lots were, with its share in the recipe, the largest first.
    blends
        Of the next lots by the recipe's shares; None where a supplier has too few lots.
    alone
        By stream, its next lots alone; empty where `blends` is None.
    unusual
        Streams whose newest lot is unusual for them.
    """

    window: Window
    streams: tuple[FutureStream, ...]
    blends: FutureBlends | None
    alone: Mapping[str, FutureBlends]
    unusual: tuple[str, ...]

    @property
    def few(self) -> tuple[FutureStream, ...]:
        """Streams with too few lots to draw a next one from."""
        return tuple(one for one in self.streams if one.lots < FEWEST_LOTS)


def supplier_records(store: Store, survey: Survey, bias: LearnedBias) -> SupplierRecords:
    """What was measured of the suppliers' lots, as `next_lots` takes it.

    Parameters
    ----------
    store
        Whose catalogue tells own methods from the supplier's word.
    survey
        Every stream, from `store.sweep()`.
    bias
        What measured blends taught; see `heat_bias`.

    Returns
    -------
    SupplierRecords
    """
    return SupplierRecords(
        points=survey.points,
        signals=survey.signals(),
        declared=declared_methods(store),
        heat_shift=bias.log_shift,
    )


def next_lots(order: BlendOrder, found: Recipe, records: SupplierRecords) -> list[NextLots]:
    """What the recipe's suppliers can hold of each characteristic that is limited, heat first.

    Parameters
    ----------
    order, found
        What is asked, and the recipe whose shares are kept.
    records
        What was measured of the suppliers' lots.

    Returns
    -------
    list of NextLots

    Notes
    -----
    Of several methods the one that measured most of a supplier's lots speaks for it; lots known
    only as bounds are left out.  What the results of a method share is taken from the recipe.
    """
    shares = _shares(found)
    return [
        _one(window, predicted, shares, records)
        for window, predicted in zip(order.windows, found.predicted, strict=True)
    ]


def _shares(found: Recipe) -> dict[tuple[str, str], float]:
    """Share of the recipe by material and supplier, the largest first."""
    lots = {lot.code: lot for lot in found.problem.lots}
    shares: dict[tuple[str, str], float] = {}
    for code, share in zip(found.portions.lot.tolist(), found.portions.share.tolist(), strict=True):
        key = (lots[code].material, lots[code].supplier)
        shares[key] = shares.get(key, 0.0) + share
    return dict(sorted(shares.items(), key=lambda item: -item[1]))


def _one(
    window: Window,
    predicted: Predicted,
    shares: Mapping[tuple[str, str], float],
    records: SupplierRecords,
) -> NextLots:
    streams, unusual = [], []
    for (material, supplier), share in shares.items():
        lots = _lots(records, material, supplier, window)
        named = supplier if len({one for one, _ in shares}) == 1 else f"{supplier}, {material}"
        shift = records.heat_shift if window.characteristic == HEAT else 0.0
        streams.append(FutureStream.of(named, lots["value"], share=share, log_shift=shift))
        if _newest_is_unusual(lots, records.signals):
            unusual.append(named)
    asked = NextLots(
        window=window, streams=tuple(streams), blends=None, alone={}, unusual=tuple(unusual)
    )
    if asked.few:
        return asked
    shared = predicted.method_uncertainty
    return replace(
        asked,
        blends=_drawn(streams, window, shared),
        alone={one.name: _drawn([replace(one, share=1.0)], window, shared) for one in streams},
    )


def _lots(records: SupplierRecords, material: str, supplier: str, window: Window) -> pd.DataFrame:
    """Lots of one supplier with their value on the basis and in the unit of the window."""
    points = records.points
    mine = points[
        (points["material"] == material)
        & (points["supplier"] == supplier)
        & (points["censored"] == EXACT)
        & ~points["method"].isin(list(records.declared))
    ]
    lots = _longest(mine[mine["characteristic"] == window.characteristic])
    if lots.empty:
        return lots
    value = lots["value"] * units.factor(str(lots["unit"].iloc[0]), to=window.unit)
    if window.basis == "dry" and lots["basis"].iloc[0] != "dry":
        water = _longest(mine[mine["characteristic"] == MOISTURE]).set_index("lot")["value"]
        value = value.where(lots["lot"].isin(water.index))
        value = pd.Series(dry_basis(value, lots["lot"].map(water).fillna(0.0)), index=lots.index)
    return lots.assign(value=value)[value > 0.0]


def _longest(points: pd.DataFrame) -> pd.DataFrame:
    """The stream with most lots; the first of several as long."""
    if points.empty:
        return points
    return points[points["stream"] == points["stream"].value_counts(sort=True).idxmax()]


def _newest_is_unusual(lots: pd.DataFrame, signals: pd.DataFrame) -> bool:
    if lots.empty:
        return False
    newest = lots.iloc[-1]
    return bool(((signals["stream"] == newest["stream"]) & (signals["lot"] == newest["lot"])).any())


def _drawn(streams: Sequence[FutureStream], window: Window, shared: float) -> FutureBlends:
    return future_blends(
        streams,
        lower=max(0.0, window.low),
        upper=window.high,
        method_uncertainty=shared,
    )
