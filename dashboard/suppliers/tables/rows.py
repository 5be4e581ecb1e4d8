"""Suppliers against each other, as the rows of a figure: one frame a picture."""

import math
from collections.abc import Callable
from typing import Final

import numpy as np
import pandas as pd

from dashboard.frame.words import count
from dashboard.suppliers.charts import COLUMNS
from dashboard.suppliers.tables.numbers import supplier_numbers
from dashboard.suppliers.words import differences
from spc.answers.suppliers_compared import SuppliersCompared, leaves_zero_out
from spc.compare.between_suppliers.consistency import FEWEST_FOR_CONSISTENCY
from spc.compare.between_suppliers.crop_drift import CropDrift
from spc.digits import percent, written

# An interval is drawn this many usual half-lengths to either side; beyond it an arrow stands.
_REACH: Final = 3.0
_PERCENT: Final = 100.0


def consistency_rows(told: SuppliersCompared) -> pd.DataFrame:
    """How much the lots of each supplier differ, and the samples of one lot; in per cent."""
    found = supplier_numbers(told)
    frame = _of(found, "between_cv", by=_PERCENT).assign(
        second=_PERCENT * found["within_cv"],
        weak=~told.suppliers.enough_for_consistency,
        told=found["supplier"].isin(told.uneven),
        words=[
            f"{count(row['lots'], 'lot')} · {differences.chance(row['most_consistent'])}"
            if not math.isnan(row["most_consistent"])
            else _counted(row["lots"])
            for row in found.to_dict("records")
        ],
        label=[
            f"lots differ by {_written(row, 'between_cv', percent)}, samples of one lot by"
            f" {_written(row, 'within_cv', percent)}"
            for row in found.to_dict("records")
        ],
    )
    return _drawn(frame, frame["value"])


def drift_rows(told: SuppliersCompared) -> pd.DataFrame:
    """The newest crop of each supplier, lot by lot and its mean, against the earlier crops."""
    found = supplier_numbers(told)
    by = _PERCENT if told.found.scale == "log" else 1.0
    frame = _of(found, "crop_change", by=by).assign(
        told=found["supplier"].isin(told.drifting),
        words=[_crop_words(told, name) for name in found["supplier"]],
        label=[_crop_label(told, name) for name in found["supplier"]],
    )
    rows = _drawn(frame, -frame["value"].abs())
    return _with_lots(rows, _newest_lots(told))


def belief_rows(told: SuppliersCompared) -> pd.DataFrame:
    """What certificates read against own results: bias, and where 95 % of them lie."""
    found = supplier_numbers(told)
    by = _PERCENT if told.found.scale == "log" else 1.0
    frame = _of(found, "bias", by=by).assign(
        outer_low=by * found["agreement_low"],
        outer_high=by * found["agreement_high"],
        told=found["supplier"].isin(told.biased),
        words=[
            "nothing to compare"
            if math.isnan(row["bias"])
            else f"{count(int(row['certificates']), 'lot')} · {percent(row['next_within'])}"
            for row in found.to_dict("records")
        ],
        label=[
            str(told.belief[row["supplier"]])
            if math.isnan(row["bias"])
            else f"certificates read {differences.signed(row['bias'], told)}"
            f" ({differences.between(row['bias_low'], row['bias_high'], told)})"
            for row in found.to_dict("records")
        ],
    )
    return _drawn(frame, -frame["value"].abs())


def cost_rows(told: SuppliersCompared) -> pd.DataFrame:
    """Money per thousand heat units, cheapest first."""
    found = supplier_numbers(told)
    frame = _of(found, "cost").assign(
        weak=found["cost_low"].isna(),
        words=[
            "no price"
            if math.isnan(row["cost"])
            else f"{count(int(row['cost_lots']), 'lot')} · {written(row['cost'])}"
            for row in found.to_dict("records")
        ],
        label=[
            "no lot has price, quantity and heat"
            if math.isnan(row["cost"])
            else f"{_written(row, 'cost', written)} {differences.currency(told)}"
            for row in found.to_dict("records")
        ],
    )
    return _drawn(frame, frame["value"])


def level_rows(told: SuppliersCompared) -> pd.DataFrame:
    """Mean of each supplier's lots, highest first, in the unit."""
    found = supplier_numbers(told)
    inside = found["inside_limits"].to_list()
    frame = _of(found, "mean").assign(
        words=[
            "too few lots"
            if math.isnan(row["mean"])
            else f"{count(row['lots'], 'lot')}"
            + ("" if math.isnan(chance) else f" · {differences.chance(chance)} inside")
            for row, chance in zip(found.to_dict("records"), inside, strict=True)
        ],
        label=[
            f"{_written(row, 'mean', written)} {told.found.unit}"
            for row in found.to_dict("records")
        ],
    )
    return _drawn(frame, -frame["value"], log=told.found.scale == "log")


def _of(found: pd.DataFrame, name: str, *, by: float = 1.0) -> pd.DataFrame:
    """An estimate with its interval, every other column of the figure at rest."""
    return pd.DataFrame(
        {
            "supplier": found["supplier"],
            "kind": "supplier",
            "value": by * found[name],
            "low": by * found[f"{name}_low"],
            "high": by * found[f"{name}_high"],
            "outer_low": np.nan,
            "outer_high": np.nan,
            "second": np.nan,
            "told": False,
            "weak": False,
        }
    )


def _drawn(frame: pd.DataFrame, key: pd.Series, *, log: bool = False) -> pd.DataFrame:
    """In the order of `key`, what is not known last; endless intervals cut where they may be."""
    ordered = frame.iloc[key.reset_index(drop=True).sort_values(kind="stable").index]
    scaled = np.log(ordered[["value", "low", "high"]]) if log else ordered
    value, low, high = (scaled[name].astype(np.float64) for name in ("value", "low", "high"))
    halves = np.concatenate([value - low, high - value])
    halves = halves[np.isfinite(halves)]
    reach = _REACH * float(np.median(halves)) if halves.size else np.inf
    nearest, farthest = value - reach, value + reach
    shown = np.exp if log else np.asarray
    return ordered.assign(
        row=range(len(ordered)),
        cut_low=low < nearest,
        cut_high=high > farthest,
        low=shown(np.maximum(low, nearest)),
        high=shown(np.minimum(high, farthest)),
    )[list(COLUMNS)]


def _newest_lots(told: SuppliersCompared) -> pd.DataFrame:
    """Each lot of a newest crop against the mean of the supplier's earlier crops."""
    lots, log = told.found.lots, told.found.scale == "log"
    lots = lots[lots["crop_year"].notna()]
    value = np.log(lots["value"]) if log else lots["value"]
    newest = lots["crop_year"] == lots.groupby("supplier")["crop_year"].transform("max")
    earlier = value.where(~newest).groupby(lots["supplier"]).transform("mean")
    off = (value - earlier)[newest & earlier.notna()]
    return pd.DataFrame(
        {
            "supplier": lots.loc[off.index, "supplier"],
            "kind": "lot",
            "value": _PERCENT * np.expm1(off) if log else off,
            "label": lots.loc[off.index, "lot"],
        }
    )


def _with_lots(rows: pd.DataFrame, lots: pd.DataFrame) -> pd.DataFrame:
    placed = lots.merge(rows[["supplier", "row"]], on="supplier", how="inner")
    placed = placed.assign(words="", told=False, weak=False, cut_low=False, cut_high=False)
    whole = pd.concat([rows, placed.reindex(columns=list(COLUMNS))], ignore_index=True)
    return whole[list(COLUMNS)]


def _crop_words(told: SuppliersCompared, name: str) -> str:
    crop = told.drift[name]
    if not isinstance(crop, CropDrift):
        return "crop not known"
    if not crop.enough:
        return f"{crop.lots} of crop {crop.crop}, {crop.before} before: too few"
    if not leaves_zero_out(crop.per_lot_interval):
        return f"{crop.lots} of crop {crop.crop}, {crop.before} before"
    return f"{crop.lots} of crop {crop.crop} · {differences.signed(crop.per_lot, told)} a lot"


def _crop_label(told: SuppliersCompared, name: str) -> str:
    crop = told.drift[name]
    if isinstance(crop, str):
        return crop
    if not crop.enough:
        return f"{count(crop.lots, 'lot')} of crop {crop.crop}, {crop.before} before it"
    return (
        f"crop {crop.crop} {differences.signed(crop.change, told)}"
        f" ({differences.between(crop.interval.low, crop.interval.high, told)})"
    )


def _written(row: dict[object, float], name: str, write: Callable[[float], str]) -> str:
    low, high = row[f"{name}_low"], row[f"{name}_high"]
    ends = "" if math.isnan(low) else f" ({write(low)} to {write(high)})"
    return f"{write(row[name])}{ends}"


def _counted(lots: int) -> str:
    short = f" of {FEWEST_FOR_CONSISTENCY} needed" if lots < FEWEST_FOR_CONSISTENCY else ""
    return f"{count(lots, 'lot')}{short}"
