"""What a stream shows, since when, and what its rules cost."""

from collections.abc import Mapping, Sequence
from typing import Final

import pandas as pd

from dashboard.frame.stream_words import changed
from dashboard.frame.words import count
from spc.charts import BetweenWithin, Price, suggest
from spc.digits import written
from spc.errors import NoSpread, NotPositive, TooFewLots
from spc.store import StreamKey

VIEW_SENTENCES: Final[Mapping[str, str]] = {
    "lot values": "",
    "weighted average": (
        "Each lot counts a fifth, the lots before it the rest: a small, lasting move shows sooner"
        " than in single lots (Lucas & Saccucci 1990)."
    ),
    "running sums": (
        "What lies more than half a sigma above or below the centre is added up; beyond five sigmas"
        " the supplier has moved (Page 1954). Where a sum left zero is where the move began."
    ),
    "spread within lots": (
        "How much the samples of one lot differ, against what all lots together lead one to"
        " expect: a lot far above is uneven, whatever its mean (ISO 7870-2, standard deviations)."
    ),
    "scores without a baseline": (
        "Each lot is compared with the lots before it only, so the chart needs no baseline and"
        " serves new suppliers (Hawkins 1987; Quesenberry 1991). The first score comes with the"
        " third lot."
    ),
    "all characteristics together": (
        "One distance for all characteristics of a lot, which also sees combinations that are odd"
        " though each value is not (Hotelling; Tracy, Young & Mason 1992)."
    ),
}
PROVISIONAL: Final = (
    "Nobody has frozen a baseline for this stream yet. Until then the limits rest on the lots of"
    " the crops before the newest, or on all lots while those are fewer than eight."
)
NO_LIMITS: Final = (
    "Nothing says yet what is usual here, so nothing can be added up. Look at scores without a"
    " baseline, or freeze one."
)
_KINDS: Final[Mapping[str, str]] = {
    "moving range": "moving range (the usual)",
    "standard deviation": "standard deviation",
    "prediction": "prediction (few lots)",
    "guaranteed": "guaranteed rate of false alarms (few lots)",
}


def components(found: BetweenWithin, *, log: bool, unit: str) -> str:
    """Where the variation sits: between lots, or within them."""

    def told(sigma: float) -> str:
        return f"{100 * sigma:.1f} %" if log else written(sigma, unit=unit)

    floored = (
        " Lots differ by no more than their samples explain, so the part between lots is shown as"
        " zero."
        if found.floored
        else ""
    )
    return (
        f"Over {count(found.size, 'lot')} with {found.readings} samples, lots differ by"
        f" {told(found.between_sigma)} and samples of one lot by {told(found.within_sigma)}"
        f" (standard deviations).{floored}"
    )


def kind(name: str) -> str:
    """A kind of limits, with when it serves."""
    return _KINDS.get(name, name)


def rules_by_lot(signals: pd.DataFrame) -> dict[str, list[str]]:
    """Lot to the rules that signal at it, newest first."""
    grouped = signals.groupby("lot", sort=False)["rule"]
    return {str(lot): rules.tolist() for lot, rules in grouped}


def signalled(rules: Mapping[str, Sequence[str]], lot: str) -> str:
    """A lot with what is unusual about it."""
    return f"{lot}: {', '.join(rules[lot])}"


def opened(frame: pd.DataFrame) -> list[str]:
    """Open investigations, a line each."""
    return [f"{row['lot']}: {row['cause']}" for row in frame.to_dict("records")]


def priced(price: Price) -> str:
    """What a set of run rules costs and brings, in lots and months."""
    about = "" if price.exact else "about "
    rate = f"{price.lots_per_month:.1f}".removesuffix(".0")
    alarm, months, notice = (
        count(round(length), noun)
        for length, noun in (
            (price.false_alarm_lots, "lot"),
            (price.false_alarm_months, "month"),
            (price.detection_lots, "lot"),
        )
    )
    return (
        f"With these rules and your {rate} lot{'' if rate == '1' else 's'} a month, expect one"
        f" false alarm in {about}{alarm} ({months}); a supplier who moves by one sigma is noticed"
        f" after {about}{notice}. {_basis(price)}"
    )


def _basis(price: Price) -> str:
    """How the run lengths of a price were found, and how far off they may be."""
    if price.exact:
        return "Both are worked out exactly, for normal lots and known limits."
    error = price.false_alarm_standard_error / price.false_alarm_lots
    return f"Both are averages of simulated streams, good to about {2.0 * error:.1%}."


def suggested(points: pd.DataFrame) -> list[str]:
    """What to look at before freezing a baseline; nothing of it is applied."""
    usable = points[(points["censored"] == 0).to_numpy()]
    log = bool((usable["scale"] == "log").all())
    try:
        found = suggest(usable["value"].to_numpy(), scale="log" if log else "linear")
    except (TooFewLots, NoSpread, NotPositive) as problem:
        return [f"No suggestion: {problem.what} {problem.remedy}"]
    said = []
    lots = usable["lot"].to_numpy()
    if found.outlying.any():
        said.append(f"Far from the others: {', '.join(lots[found.outlying])}.")
    if found.shape.decided:
        said.append(f"The {found.shape.better} scale fits the shape of these lots better.")
    elif found.shape.few:
        said.append("Too few lots to say whether a linear or a log scale fits better.")
    if found.autocorrelation.notable:
        share = found.autocorrelation.value
        said.append(f"Lots resemble the one before (correlation {share:.2f}), so limits are tight.")
    if found.moved:
        said.append(changed(points))
    return [one for one in said if one] or ["Nothing stands out in these lots."]


def stream_name(key: StreamKey) -> str:
    """A stream in one line."""
    basis = f", {key.basis}" if key.basis not in ("", "as-is") else ""
    return f"{key.material} from {key.supplier}: {key.characteristic} by {key.method}{basis}"
