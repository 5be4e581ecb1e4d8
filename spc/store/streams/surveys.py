"""Every stream charted at once: lot values, limits and signals, straight from the store."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc import charts
from spc.charts import DEFAULT_RULES, RULES
from spc.charts.baseline import provisional
from spc.charts.lots import Scale
from spc.charts.stages import Stage, staged
from spc.store.file.cursors import Cursor
from spc.store.streams import baselines, streams
from spc.store.streams.baselines import Choice
from spc.store.streams.streams import KEY, StreamKey
from spc.sweep import sweep

POINT: Final = [*KEY, "lot", "received_at", "crop_year", "unit", "scale"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Survey:
    """All streams of a selection, charted.

    Attributes
    ----------
    points
        One line a lot and stream, in order of receipt: the key, lot, received_at, crop_year,
        unit, scale, stream (its number), value, spread, samples, readings, censored, baseline,
        restart (patterns begin anew at this lot),
        center, sigma, lower, upper, size, z, within, degrees.  Limits are those that stood when
        the lot came in.
    marks : bool, shape (points, rules)
        Which run rule signals at which point, in the order of `charts.RULES`.
    frozen
        The streams whose baseline a person froze, with its versions, oldest first.
    """

    points: pd.DataFrame
    marks: NDArray[np.bool_]
    frozen: Mapping[StreamKey, Sequence[Choice]]

    def signals(self) -> pd.DataFrame:
        """One line a signal: the point's line with the rule's name, newest first."""
        point, rule = np.nonzero(self.marks)
        frame = self.points.iloc[point].assign(rule=np.array(tuple(RULES), dtype=object)[rule])
        return frame.sort_values(["received_at", "lot"], ascending=False, kind="stable")

    def of(self, key: StreamKey) -> pd.DataFrame:
        """The points of one stream."""
        return self.points[_mine(self.points, key)]

    def rules(self, key: StreamKey) -> tuple[str, ...]:
        """The run rules that signal at the newest lots of a stream."""
        return self.frozen[key][-1].rules if key in self.frozen else DEFAULT_RULES


def survey(cursor: Cursor, *, material: str = "", supplier: str = "") -> Survey:
    """Chart every stream of a selection in one vectorised pass."""
    readings = streams.readings(cursor, material=material, supplier=supplier)
    frozen = baselines.frozen(cursor)
    points = _lot_values(readings)
    starts = np.flatnonzero(points["stream"].ne(points["stream"].shift()).to_numpy())
    chosen = provisional(points["crop_year"].to_numpy(dtype=np.float64, na_value=np.nan), starts)
    swept = sweep(
        points["value"].to_numpy(),
        starts=starts,
        scale_log=(points["scale"].iloc[starts] == "log").to_numpy(),
        censored=points["censored"].to_numpy(),
        baseline=chosen,
        rules=tuple(RULES),
    )
    number = points["stream"].to_numpy()
    points = points.assign(
        baseline=chosen,
        restart=False,
        z=swept.z,
        **{name: getattr(swept, name)[number] for name in _LIMITS},
        **_within(points),
    )
    marks = swept.signals & np.isin(np.array(tuple(RULES)), DEFAULT_RULES)
    _stage(points, marks, frozen)
    return Survey(points=points, marks=marks, frozen=frozen)


_LIMITS: Final = ("center", "sigma", "lower", "upper", "size")


def _stage(
    points: pd.DataFrame,
    marks: NDArray[np.bool_],
    frozen: Mapping[StreamKey, Sequence[Choice]],
) -> None:
    """Chart anew, in place, the streams that one mean and one moving range cannot serve.

    Those are the frozen ones, and those with censored lots in their baseline, which are no
    values but bounds.
    """
    open_lots = points["baseline"] & (points["censored"] != 0)
    bounded = set(points.loc[open_lots, "stream"])
    starts = np.flatnonzero(points["stream"].ne(points["stream"].shift()).to_numpy())
    ends = np.append(starts[1:], len(points))
    for number, head in enumerate(points.iloc[starts][KEY].itertuples(index=False, name=None)):
        key = StreamKey(**dict(zip(KEY, head, strict=True)))
        if key in frozen or number in bounded:
            lines = points.index[starts[number] : ends[number]]
            _judge(points, marks, lines, frozen.get(key, ()))


def _judge(
    points: pd.DataFrame, marks: NDArray[np.bool_], lines: pd.Index, choices: Sequence[Choice]
) -> None:
    mine = points.loc[lines]
    stages = _stages(mine, choices)
    judged = staged(
        mine["value"].to_numpy(),
        mine["censored"].to_numpy(),
        stages,
        scale="log" if mine["scale"].iloc[0] == "log" else "linear",
    )
    for name in (*_LIMITS, "z"):
        points.loc[lines, name] = getattr(judged, name)
    points.loc[lines, "baseline"] = np.logical_or.reduce([one.baseline for one in stages])
    begins = [one.first for one in stages if one.restarts and one.first > 0]
    points.loc[lines[begins], "restart"] = True
    marks[lines] = judged.signals


def _stages(mine: pd.DataFrame, choices: Sequence[Choice]) -> list[Stage]:
    """The stages of one stream; a later version wins from its first lot on."""
    if not choices:
        return [Stage(first=0, baseline=mine["baseline"].to_numpy(dtype=np.bool_))]
    lots = mine["lot"].tolist()
    stages: list[Stage] = []
    for choice in choices:
        first = lots.index(choice.applies_from) if choice.applies_from in lots else 0
        stages = [one for one in stages if one.first < first]
        stages.append(
            Stage(
                first=first if stages else 0,
                baseline=mine["lot"].isin(choice.lots).to_numpy(),
                restarts=choice.restarts,
                kind=choice.kind,
                rules=choice.rules,
            )
        )
    return stages


def _mine(points: pd.DataFrame, key: StreamKey) -> NDArray[np.bool_]:
    return np.asarray(np.logical_and.reduce([points[name] == getattr(key, name) for name in KEY]))


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
