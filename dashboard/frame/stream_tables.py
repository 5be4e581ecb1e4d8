"""A stream as the frame that its chart reads."""

from collections.abc import Sequence
from typing import Final

import numpy as np
import pandas as pd

from dashboard.frame.lot_addresses import lot_address
from dashboard.frame.words import crop
from spc.acceptance import Line
from spc.digits import written

CENSORED: Final = {0: "", 1: "above", -1: "below", 2: "between"}


def stream_frame(
    points: pd.DataFrame, signals: pd.DataFrame, *, line: Line | None, chosen: str = ""
) -> pd.DataFrame:
    """The points of one stream as the stream chart draws them.

    Parameters
    ----------
    points, signals
        Of one stream, from a survey.
    line
        The specification's line on this characteristic and basis; None draws no bracket.
    chosen
        The lot being looked at.
    """
    log = bool((points["scale"] == "log").all())
    whisker = points["spread"].fillna(0.0)
    value = points["value"]
    told = signals.groupby("lot")["rule"].agg(tuple).to_dict()
    rules = [told.get(lot, ()) for lot in points["lot"]]
    return pd.DataFrame(
        {
            "lot": points["lot"],
            "at": points["received_at"],
            "order": np.arange(1, len(points) + 1),
            "value": value,
            "whisker_low": value * np.exp(-whisker) if log else value - whisker,
            "whisker_high": value * np.exp(whisker) if log else value + whisker,
            "center": np.exp(points["center"]) if log else points["center"],
            "lower": points["lower"],
            "upper": points["upper"],
            "spec_lower": np.nan if line is None or line.lower is None else line.lower,
            "spec_upper": np.nan if line is None or line.upper is None else line.upper,
            "censored": points["censored"].map(CENSORED),
            "in_baseline": points["baseline"],
            "signal": _only_news(rules),
            "chosen": points["lot"] == chosen,
            "crop": [crop(year) for year in points["crop_year"]],
            "href": [lot_address(lot) for lot in points["lot"]],
            "label": [
                written(one, unit=unit) for one, unit in zip(value, points["unit"], strict=True)
            ],
            "unit": points["unit"],
        }
    )


def _only_news(rules: Sequence[tuple[str, ...]]) -> list[str]:
    """A signal is written where it begins; while it lasts, the picture stays readable."""
    before: tuple[str, ...] = ()
    texts = []
    for now in rules:
        fresh = [rule for rule in now if rule not in before]
        texts.append(", ".join(fresh))
        before = now
    return texts
