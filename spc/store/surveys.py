"""Every stream charted at once: lot values, limits and signals, straight from the store."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc import charts
from spc.charts.baseline import provisional
from spc.charts.lots import Scale
from spc.store import baselines, streams
from spc.store.connection import Cursor
from spc.store.streams import KEY, StreamKey
from spc.sweep import Sweep, sweep

POINT: Final = [*KEY, "lot", "received_at", "crop_year", "unit", "scale"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Survey:
    """All streams of a selection, charted.

    Attributes
    ----------
    points
        One line a lot and stream, in order of receipt: the key, lot, received_at, crop_year,
        unit, scale, stream (its number), value, spread, samples, readings, censored, baseline,
        center, sigma, lower, upper, size, z, within, degrees.
    sweep
        Limits and signals; its points are the lines of `points`.
    frozen
        The streams whose baseline a person froze.
    """

    points: pd.DataFrame
    sweep: Sweep
    frozen: frozenset[StreamKey]

    def signals(self) -> pd.DataFrame:
        """One line a signal: the point's line with the rule's name, newest first."""
        point, rule = np.nonzero(self.sweep.signals)
        frame = self.points.iloc[point].assign(rule=np.array(self.sweep.rules, dtype=object)[rule])
        return frame.sort_values(["received_at", "lot"], ascending=False, kind="stable")

    def of(self, key: StreamKey) -> pd.DataFrame:
        """The points of one stream."""
        wanted = np.logical_and.reduce([self.points[name] == getattr(key, name) for name in KEY])
        return self.points[wanted]


def survey(cursor: Cursor, *, material: str = "", supplier: str = "") -> Survey:
    """Chart every stream of a selection in one vectorised pass."""
    readings = streams.readings(cursor, material=material, supplier=supplier)
    frozen = baselines.frozen(cursor)
    points = _lot_values(readings)
    starts = np.flatnonzero(points["stream"].ne(points["stream"].shift()).to_numpy())
    baseline = _baseline(points, starts, frozen)
    swept = sweep(
        points["value"].to_numpy(),
        starts=starts,
        scale_log=(points["scale"].iloc[starts] == "log").to_numpy(),
        censored=points["censored"].to_numpy(),
        baseline=baseline,
    )
    number = points["stream"].to_numpy()
    points = points.assign(
        baseline=baseline,
        z=swept.z,
        **{
            name: getattr(swept, name)[number]
            for name in ("center", "sigma", "lower", "upper", "size")
        },
        **_within(points),
    )
    return Survey(points=points, sweep=swept, frozen=frozenset(frozen))


def _lot_values(readings: pd.DataFrame) -> pd.DataFrame:
    """One line a lot and stream; each scale is averaged in its own way."""
    starts = np.flatnonzero(_changes(readings, [*KEY, "lot"]))
    points = readings.iloc[starts][POINT].reset_index(drop=True)
    points["stream"] = _changes(points, KEY).cumsum() - 1
    codes = streams.sample_codes(readings)
    points[["value", "spread", "samples", "readings", "censored"]] = np.nan
    line = np.repeat(np.arange(len(points)), np.diff(np.append(starts, len(readings))))
    scales: tuple[Scale, ...] = ("log", "linear")
    for scale in scales:
        chosen = (readings["scale"] == scale).to_numpy()
        lines, firsts = np.unique(line[chosen], return_index=True)
        if lines.size == 0:
            continue
        values = charts.lot_values(
            readings["low"].to_numpy()[chosen],
            readings["high"].to_numpy()[chosen],
            codes[chosen],
            firsts,
            scale=scale,
        )
        for name in ("value", "spread", "samples", "readings", "censored"):
            points.loc[lines, name] = getattr(values, name)
    return points


def _changes(frame: pd.DataFrame, columns: list[str]) -> NDArray[np.bool_]:
    return frame[columns].ne(frame[columns].shift()).any(axis=1).to_numpy()


def _baseline(
    points: pd.DataFrame,
    starts: NDArray[np.int64],
    frozen: Mapping[StreamKey, tuple[str, ...]],
) -> NDArray[np.bool_]:
    """Frozen lots where a person froze them, provisional ones elsewhere."""
    chosen = provisional(points["crop_year"].to_numpy(dtype=np.float64, na_value=np.nan), starts)
    for key, lots in frozen.items():
        mine = np.logical_and.reduce([points[name] == getattr(key, name) for name in KEY])
        chosen[mine] = points.loc[mine, "lot"].isin(lots)
    return chosen


def _within(points: pd.DataFrame) -> dict[str, NDArray[np.float64]]:
    """Spread between samples of one lot, pooled over the *other* lots of the stream."""
    usable = points["spread"].notna().to_numpy()
    degrees = np.where(usable, points["samples"] - 1, 0).astype(np.float64)
    squares = np.where(usable, points["spread"].to_numpy() ** 2, 0.0) * degrees
    number = points["stream"].to_numpy()
    others = np.bincount(number, degrees)[number] - degrees if len(points) else degrees
    rest = np.bincount(number, squares)[number] - squares if len(points) else squares
    sigma = np.full(len(points), np.nan)
    np.sqrt(np.divide(rest, others, where=others > 0, out=sigma), where=others > 0, out=sigma)
    return {"within": sigma, "degrees": others}
