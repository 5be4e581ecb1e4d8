"""Other ways to look at a stream: averages that remember, running sums, scores, all at once."""

from typing import Final, Literal, get_args
from urllib.parse import quote

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc import charts
from spc.charts.lots import EXACT, Scale
from spc.digits import written
from spc.errors import InvalidInput
from spc.store import Stream, Survey
from spc.store.streams.streams import StreamKey

View = Literal[
    "lot values",
    "weighted average",
    "running sums",
    "spread within lots",
    "scores without a baseline",
    "all characteristics together",
]
VIEWS: Final[tuple[View, ...]] = get_args(View)

_NOTHING: Final = float("nan")
# A characteristic measured on fewer of the lots would cost more lots than it tells.
_COMMON: Final = 0.8
_SIGNAL: Final = "outside"


def weighted_average(frame: pd.DataFrame, points: pd.DataFrame) -> pd.DataFrame:
    """The stream chart's frame with each lot's value replaced by the weighted average so far.

    Parameters
    ----------
    frame
        As `tables.stream_frame` gives it.
    points
        The same lots from the survey.

    Notes
    -----
    The average is taken of distances from the centre and shown in the unit, so that it follows
    each lot's own limits; a lot without a usable value leaves it where it was.
    """
    parts = [charts.ewma(run, target=0.0, sigma=1.0) for run in _runs(points)]
    signals = np.concatenate([one.signals for one in parts])
    log = bool((points["scale"] == "log").all())
    upper = np.log(points["upper"]) if log else points["upper"]
    # Scores have every kind of limits at three, also those wider than three sigmas.
    score = (upper - points["center"]) / 3.0

    def shown(z: NDArray[np.float64]) -> NDArray[np.float64]:
        worked = (points["center"] + score * z).to_numpy(dtype=np.float64)
        return np.asarray(np.exp(worked)) if log else worked

    value = shown(np.concatenate([one.values for one in parts]))  # noqa: PD011 - not frames
    return frame.assign(
        value=value,
        whisker_low=_NOTHING,
        whisker_high=_NOTHING,
        lower=shown(np.concatenate([one.lower for one in parts])),
        upper=shown(np.concatenate([one.upper for one in parts])),
        censored="",
        signal=np.where(signals, _SIGNAL, ""),
        label=[written(one, unit=unit) for one, unit in zip(value, frame["unit"], strict=True)],
    )


def running_sums(frame: pd.DataFrame, points: pd.DataFrame) -> pd.DataFrame:
    """Sums of what lies above and below the centre, in sigmas, as the running-sum chart draws."""
    parts = [charts.cusum(run, target=0.0, sigma=1.0) for run in _runs(points)]
    signals = np.concatenate([one.signals for one in parts])
    return pd.DataFrame(
        {
            "lot": frame["lot"],
            "at": frame["at"],
            "order": frame["order"],
            "href": frame["href"],
            "above": np.concatenate([one.high for one in parts]),
            "below": -np.concatenate([one.low for one in parts]),
            "decision": parts[0].decision,
            "signal": np.where(signals, _SIGNAL, ""),
        }
    )


def _runs(points: pd.DataFrame) -> list[NDArray[np.float64]]:
    """Scores of the stream, parted where a stage begins anew and nothing is remembered."""
    begins = np.flatnonzero(points["restart"].to_numpy(dtype=np.bool_))
    return np.split(points["z"].to_numpy(dtype=np.float64), begins)


def spread_within(frame: pd.DataFrame, stream: Stream) -> tuple[pd.DataFrame, charts.BetweenWithin]:
    """The spread between the samples of each lot, against what all lots lead one to expect.

    Returns
    -------
    frame, components
        The stream chart's frame with each lot's spread as value, on the stream's scale (a share
        of the value on log scale), and the two components of variance; lots with an open reading
        are left out.

    Raises
    ------
    InvalidInput
        If fewer than two lots can be compared, or none has two samples.
    """
    means, starts, exact = _sample_means(stream)
    found = charts.between_within(means, starts)
    within, log = found.within, stream.scale == "log"
    spread = np.array(
        [one.std(ddof=1) if one.size > 1 else _NOTHING for one in np.split(means, starts[1:])]
    )
    shown = frame[exact].assign(
        order=np.arange(1, exact.sum() + 1),
        value=spread,
        whisker_low=_NOTHING,
        whisker_high=_NOTHING,
        center=within.center,
        lower=within.lower,
        upper=within.upper,
        spec_lower=_NOTHING,
        spec_upper=_NOTHING,
        censored="",
        in_baseline=True,
        signal=np.where(spread > within.upper, _SIGNAL, ""),
        unit="share" if log else frame["unit"],
        label=[f"{100 * one:.1f} %" if log else f"{one:.3g}" for one in spread],
    )
    return shown.dropna(subset=["value"]), found


def _sample_means(
    stream: Stream,
) -> tuple[NDArray[np.float64], NDArray[np.int64], NDArray[np.bool_]]:
    """Means of samples on the stream's scale, where each lot begins, and which lots are exact."""
    scale: Scale = "log" if stream.scale == "log" else "linear"
    firsts = np.flatnonzero(np.diff(stream.sample, prepend=stream.sample[0] - 1))
    values = charts.lot_values(stream.low, stream.high, stream.sample, firsts, scale=scale)
    lot = np.searchsorted(stream.starts, firsts, side="right") - 1
    exact = np.bincount(lot, values.censored != EXACT) == 0
    kept = exact[lot]
    means = values.value[kept]
    starts = np.flatnonzero(np.diff(lot[kept], prepend=-1))
    return np.log(means) if scale == "log" else means, starts, exact


def scores(frame: pd.DataFrame, points: pd.DataFrame) -> pd.DataFrame:
    """Each lot against the lots before it only: serves without a baseline."""
    worked = np.log(points["value"]) if (points["scale"] == "log").all() else points["value"]
    usable = worked.where(points["censored"] == 0)
    score = charts.self_starting(usable)
    return frame.assign(
        value=score,
        whisker_low=_NOTHING,
        whisker_high=_NOTHING,
        center=0.0,
        lower=-3.0,
        upper=3.0,
        censored="",
        in_baseline=False,
        signal=np.where(np.abs(score) > 3.0, _SIGNAL, ""),
        unit="score",
        label=[f"{one:+.2f}" if np.isfinite(one) else "no score yet" for one in score],
    ).dropna(subset=["value"])


def together(
    survey: Survey, key: StreamKey, declared: frozenset[str]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """All characteristics of a supplier's lots in one distance.

    Returns
    -------
    frame, contributions
        The stream chart's frame with the distance as value, and what each characteristic
        contributes to it given the others, a line a lot; both of the lots with every
        characteristic only.

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
    member = points.set_index("lot")["baseline"].reindex(wide.index, fill_value=False)
    distance = charts.t_squared(wide.to_numpy(), baseline=member.to_numpy(dtype=np.bool_))
    value = distance.values  # noqa: PD011 - not a frame
    lots = points.set_index("lot").loc[wide.index]
    frame = pd.DataFrame(
        {
            "lot": wide.index,
            "at": lots["received_at"].to_numpy(),
            "order": np.arange(1, len(wide) + 1),
            "value": value,
            "whisker_low": _NOTHING,
            "whisker_high": _NOTHING,
            "center": _NOTHING,
            "lower": 0.0,
            "upper": distance.upper,
            "spec_lower": _NOTHING,
            "spec_upper": _NOTHING,
            "censored": "",
            "in_baseline": member.to_numpy(),
            "signal": np.where(
                distance.signals, _largest(distance.contributions, list(wide.columns)), ""
            ),
            "chosen": False,
            "crop": "",
            "href": [f"/lot?lot={quote(lot)}" for lot in wide.index],
            "label": [f"{one:.1f}" for one in value],
            "unit": "distance²",
        }
    )
    shares = pd.DataFrame(distance.contributions, columns=wide.columns, index=wide.index)
    return frame, shares.round(2).reset_index().iloc[::-1]


def _complete(
    survey: Survey, key: StreamKey, declared: frozenset[str]
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """Lots by characteristic on their scales, of the method with most lots each, complete only."""
    points = survey.points
    mine = points[
        (points["material"] == key.material)
        & (points["supplier"] == key.supplier)
        & ~points["method"].isin(declared)
        & (points["censored"] == 0)
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


def _largest(contributions: NDArray[np.float64], names: list[str]) -> list[str]:
    return [f"outside, mostly {names[int(place)]}" for place in contributions.argmax(axis=1)]
