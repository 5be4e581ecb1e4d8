"""Control samples, pairs of methods, corrections and versions, as drawn and as people read them."""

from collections.abc import Mapping, Sequence
from typing import Any, Final
from urllib.parse import quote

import numpy as np
import pandas as pd

from dashboard.methods.words.methods import apart
from spc.acceptance import LotMean, LotVerdict
from spc.answers import adoptions
from spc.compare.between_methods.method_comparison import MethodComparison
from spc.digits import change, percent, written
from spc.intake.corrections import AdoptedCorrection
from spc.store.lots.controls import ControlStream, deviation

_ALONG: Final = 60
_STATED: Final = (
    *("standard_uncertainty", "repeatability", "bias", "uncertainty_kind", "reading_unit"),
    *("quantification_limit", "range_upper", "dilution_lowest", "dilution_highest", "factors"),
)


def shared_axes(streams: Sequence[ControlStream]) -> tuple[Any, Any, float, float]:
    """First and last reading, least and largest end of an interval, over all instruments."""
    judged = [one.judged for one in streams if one.judged is not None]
    return (
        min(one.readings["measured_at"].min() for one in streams),
        max(one.readings["measured_at"].max() for one in streams),
        min((float(one.low.min()) for one in judged), default=0.0),
        max((float(one.high.max()) for one in judged), default=0.0),
    )


def batches_frame(stream: ControlStream, shared: tuple[Any, Any, float, float]) -> pd.DataFrame:
    """The sensor batches of one instrument as their chart draws them.

    Parameters
    ----------
    shared
        From `shared_axes`.
    """
    judged = stream.judged
    if judged is None:
        return pd.DataFrame()
    since, until, lowest, highest = shared
    first = stream.readings.groupby("sensor_batch", sort=False)["measured_at"].min()
    return pd.DataFrame(
        {
            "batch": stream.batches,
            "at": first.reindex(list(stream.batches)).to_numpy(),
            "since": since,
            "until": until,
            "lowest": lowest,
            "highest": highest,
            "deviation": judged.deviation,
            "low": judged.low,
            "high": judged.high,
            "readings": judged.readings,
            "off": judged.off,
            "words": [deviation(stream, each) for each in range(len(stream.batches))],
        }
    )


def batches_table(streams: Sequence[ControlStream]) -> pd.DataFrame:
    """Every sensor batch on every instrument, newest first."""
    rows = [
        {
            "instrument": stream.instrument,
            "sensor batch": batch,
            "control sample": stream.control.control,
            "first read": mine["measured_at"].min().date(),
            "last read": mine["measured_at"].max().date(),
            "readings": len(mine),
            "deviation": deviation(stream, number),
            "off": _off(stream, number),
            "signals": ", ".join(stream.signals(number)),
        }
        for stream in streams
        for number, batch in enumerate(stream.batches)
        for mine in [stream.readings[stream.readings["sensor_batch"] == batch]]
    ]
    frame = pd.DataFrame(rows)
    return frame.sort_values(["first read", "instrument"], ascending=[False, True], kind="stable")


def _off(stream: ControlStream, number: int) -> str:
    judged = stream.judged
    if judged is None or not judged.enough[number]:
        return "too few readings"
    return "yes" if judged.off[number] else "no"


def measured_with_table(
    results: pd.DataFrame, lots: pd.DataFrame, stream: ControlStream, batch: str
) -> pd.DataFrame:
    """The lots that have a reading made with a batch on an instrument, newest first."""
    mine = results[
        (results["characteristic"] == stream.control.characteristic)
        & (results["method"] == stream.method)
        & (results["instrument"] == stream.instrument)
        & (results["sensor_batch"] == batch)
    ]
    readings = mine.groupby("lot").size().rename("readings")
    found = lots.merge(readings, left_on="lot", right_index=True)
    return pd.DataFrame(
        {
            "lot": [f"/lot?lot={quote(lot)}" for lot in found["lot"]],
            "material": found["material"],
            "supplier": found["supplier"],
            "received": found["received_at"].dt.date,
            "readings with it": found["readings"],
            "decision": found["decision"].where(found["decision"] != "", "waiting"),
        }
    ).iloc[::-1]


def differences_frame(
    pairs: pd.DataFrame, found: MethodComparison, names: tuple[str, str]
) -> pd.DataFrame:
    """The differences of two methods against their level, as their chart draws them."""
    log, unit = found.scale == "log", str(pairs["unit"].iloc[0])
    back = np.expm1 if log else np.asarray
    level = np.exp(found.middle) if log else found.middle
    lots = _lots_frame(pairs, names).assign(x=level, y=back(found.difference))
    ends = [level.min(), level.max()]
    apart_ = found.agreement
    bias = pd.DataFrame(
        {
            "part": "bias",
            "x": ends,
            "y": back(np.array([apart_.bias] * 2)),
            "lower": back(np.array([apart_.bias_interval.low] * 2)),
            "upper": back(np.array([apart_.bias_interval.high] * 2)),
            "label": f"mean {apart(apart_.bias, scale=found.scale, unit=unit)}",
        }
    )
    limits = [
        pd.DataFrame(
            {
                "part": "limit",
                "x": ends,
                "y": back(np.array([at] * 2)),
                "label": f"{name} limit of agreement {apart(at, scale=found.scale, unit=unit)}",
            }
        )
        for name, at in (("lower", apart_.lower), ("upper", apart_.upper))
    ]
    return pd.concat([lots, bias, *limits], ignore_index=True)


def line_frame(
    pairs: pd.DataFrame, found: MethodComparison, names: tuple[str, str], *, log: bool
) -> pd.DataFrame:
    """One method against the other with the line between them, as their chart draws them."""
    low, high = float(pairs["x"].min()), float(pairs["x"].max())
    along = np.geomspace(low, high, _ALONG) if log else np.linspace(low, high, _ALONG)
    fitted = found.intercept + found.slope * along
    shown = fitted > 0.0 if log else np.ones(fitted.shape, dtype=bool)
    return pd.concat(
        [
            _lots_frame(pairs, names).assign(x=pairs["x"].to_numpy(), y=pairs["y"].to_numpy()),
            pd.DataFrame({"part": "fit", "x": along[shown], "y": fitted[shown]}),
            pd.DataFrame({"part": "same", "x": along, "y": along}),
        ],
        ignore_index=True,
    )


def _lots_frame(pairs: pd.DataFrame, names: tuple[str, str]) -> pd.DataFrame:
    """Rows of lots, with what both methods read."""
    method, against = names
    unit = str(pairs["unit"].iloc[0])
    return pd.DataFrame(
        {
            "part": "lot",
            "lot": pairs["lot"].to_numpy(),
            "at": pairs["received_at"].to_numpy(),
            "label": [
                f"{written(y, unit=unit)} by {method}, {written(x)} by {against}"
                for x, y in zip(pairs["x"], pairs["y"], strict=True)
            ],
        }
    )


def pairs_table(pairs: pd.DataFrame, *, method: str, against: str) -> pd.DataFrame:
    """Lots measured by both methods, newest first, as they were measured."""
    unit = str(pairs["unit"].iloc[0])
    log = bool((pairs["scale"] == "log").all())
    y, x = pairs["y"].to_numpy(), pairs["x"].to_numpy()
    return pd.DataFrame(
        {
            "lot": [f"/lot?lot={quote(lot)}" for lot in pairs["lot"]],
            "material": pairs["material"],
            "supplier": pairs["supplier"],
            "received": pairs["received_at"].dt.date,
            f"{method} ({unit})": [written(one) for one in y],
            "samples": pairs["y_samples"].astype(int),
            f"{against} ({unit})": [written(one) for one in x],
            "samples there": pairs["x_samples"].astype(int),
            "difference": (
                [change(one) for one in y / x - 1.0] if log else [written(one) for one in y - x]
            ),
        }
    ).iloc[::-1]


def corrections_table(every: Sequence[AdoptedCorrection], *, unit: str) -> pd.DataFrame:
    """Every version of a method's corrections, newest first for each kind of lot."""
    return pd.DataFrame(
        [
            {
                "for": " from ".join(filter(None, (one.material, one.supplier))) or "every lot",
                "version": one.version,
                "in force from": one.effective_from,
                "kind": "withdrawn" if adoptions.is_withdrawal(one) else one.kind,
                "factor": f"{one.slope:.4f}",
                f"added ({unit})": written(one.offset),
                "its standard uncertainty": percent(
                    one.uncertainty_at(_middle(one)) / _middle(one)
                ),
                "range": _range(one, unit),
                "lots": one.lots,
                "against": one.against,
                "approved by": one.approved_by,
                "reason": one.reason,
            }
            for one in every
        ]
    )


def _middle(one: AdoptedCorrection) -> float:
    return one.lowest / 2.0 + one.highest / 2.0


def _range(one: AdoptedCorrection, unit: str) -> str:
    if adoptions.is_withdrawal(one):
        return ""
    return f"{written(one.lowest)} to {written(one.highest, unit=unit)}"


def changes_table(
    before: Mapping[str, LotVerdict], after: Mapping[str, LotVerdict], *, characteristic: str
) -> pd.DataFrame:
    """The waiting lots that a correction would have judged on another value, and how."""
    rows = []
    for lot, judged in before.items():
        now, then = (_mean(one, characteristic) for one in (judged, after[lot]))
        if now is None or then is None:
            continue
        same = judged.recommendation == after[lot].recommendation
        if same and _written(now) == _written(then):
            continue
        rows.append(
            {
                "lot": f"/lot?lot={quote(lot)}",
                "value now": _written(now),
                "value then": _written(then),
                "recommendation now": judged.recommendation,
                "recommendation then": after[lot].recommendation,
                "why": after[lot].sentence,
            }
        )
    columns = [
        *("lot", "value now", "value then", "recommendation now", "recommendation then", "why"),
    ]
    return pd.DataFrame(rows, columns=columns)


def _mean(judged: LotVerdict, characteristic: str) -> LotMean | None:
    return next(
        (one.mean for one in judged.lines if one.line.characteristic == characteristic), None
    )


def _written(mean: LotMean) -> str:
    return written(mean.value, uncertainty=mean.uncertainty_in_unit, unit=mean.unit)


def method_versions_table(versions: pd.DataFrame) -> pd.DataFrame:
    """Versions of a method, newest first, with who brought each and why."""
    told = {
        "version": versions["version"],
        "brought by": versions["received_by"],
        "on (UTC)": versions["received_at"].dt.strftime("%Y-%m-%d %H:%M"),
        "reason": [
            adoptions.reason_of(bytes(content).decode("utf-8", "replace"))
            for content in versions["content"]
        ],
        **{name.replace("_", " "): versions[name] for name in _STATED},
        "file": versions["file"],
    }
    return pd.DataFrame(told).iloc[::-1]
