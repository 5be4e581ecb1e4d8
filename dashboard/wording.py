"""Sentences: what a screen says before it shows anything; pure, and tested like numbers."""

import math
from collections.abc import Hashable, Mapping, Sequence
from datetime import date
from typing import Any, Final

import numpy as np
import pandas as pd

from spc import units
from spc.acceptance import LineVerdict, LotMean, LotVerdict, Specification
from spc.acceptance.lines import odds
from spc.charts import Price, change_point, suggest
from spc.digits import written
from spc.errors import NoSpread, NotPositive, TooFewLots
from spc.store import Receipt, StreamKey

CAUTIONS: Final = (
    "A chart signal is no food-safety verdict. Release needs a qualified person, an accredited"
    " laboratory where the law asks for one, and local rules; example limits are to be checked"
    " against current law."
)
HANDLING: Final = (
    "Hot powders and solvents: enclosed mill and local exhaust, goggles, nitrile gloves, no"
    " contact lenses; keep solvents from flames and follow local safety rules."
)

_CODES: Final[Mapping[str, str]] = {
    "implausible-dilution": "a dilution that cannot be right",
    "missing-dilution": "a missing dilution",
    "unknown-lot": "a lot that is not in the store",
    "unreadable-number": "a text that is not a number",
    "ambiguous-number": "a number that can be read in two ways",
    "unreadable-date": "a date that is none",
    "future-date": "a date that lies ahead",
    "unknown-unit": "an unknown unit",
    "changed-value": "another value than the one taken in",
    "nothing-measured": "nothing measured",
}


def code(name: str) -> str:
    """A hold's code in words."""
    return _CODES.get(name, name.replace("-", " "))


def count(number: int, noun: str, plural: str = "") -> str:
    """A number with its noun: ``"1 lot"``, ``"3 lots"``."""
    return f"{number} {noun if number == 1 else plural or noun + 's'}"


def day(moment: date | pd.Timestamp) -> str:
    """A date as people write it: ``"3 November 2026"``."""
    return f"{moment.day} {moment:%B %Y}"


def crop(year: float) -> str:
    """``"crop 2026"``, or empty where the year of harvest is not known."""
    return "" if math.isnan(year) else f"crop {int(year)}"


def stream_name(key: StreamKey) -> str:
    """A stream in one line."""
    basis = f", {key.basis}" if key.basis not in ("", "as-is") else ""
    return f"{key.material} from {key.supplier}: {key.characteristic} by {key.method}{basis}"


def interval(low: float, high: float, unit: str) -> str:
    """A value that may be open, lie between two, or say whether something was found."""
    if units.measures(unit).startswith("presence"):
        return f"{'detected' if low > 0.0 else 'absent'} {unit}"
    if low == high:
        return written(low, unit=unit)
    if math.isinf(high):
        return f"above {written(low, unit=unit)}"
    if low <= 0.0:
        return f"below {written(high, unit=unit)}"
    return f"{written(low)} to {written(high, unit=unit)}"


def today(
    waiting: pd.DataFrame, verdicts: Mapping[str, LotVerdict], *, held: int, moved: int
) -> str:
    """What waits, and why, in a few sentences."""
    if waiting.empty:
        first = "No lot waits for a decision."
    else:
        oldest = day(waiting["received_at"].min())
        first = (
            f"{count(len(waiting), 'lot')} {'waits' if len(waiting) == 1 else 'wait'} for a"
            f" decision, the oldest since {oldest}: {_split(list(verdicts.values()))}."
        )
        on_hold = int((waiting["decision"] != "").sum())
        if on_hold:
            first += f" {on_hold} of them {'is' if on_hold == 1 else 'are'} on hold by a decision."
    signals = (
        f" {count(moved, 'stream')} of the last 30 days"
        f" {'is' if moved == 1 else 'are'} unusual for {'its' if moved == 1 else 'their'} supplier."
        if moved
        else " No stream of the last 30 days is unusual for its supplier."
    )
    intake = (
        f" {count(held, 'row')} of received files {'is' if held == 1 else 'are'} held."
        if held
        else " No row is held."
    )
    return first + signals + intake


def _split(verdicts: Sequence[LotVerdict]) -> str:
    """How the waiting lots divide."""
    missing = sum(
        one.recommendation == "hold" and any(line.outcome == "no result" for line in one.lines)
        for one in verdicts
    )
    kinds = (
        (sum(one.recommendation == "reject" for one in verdicts), "should be rejected"),
        (
            sum(one.recommendation == "hold" for one in verdicts) - missing,
            "cannot be settled on the evidence there is",
        ),
        (missing, "still lack a result" if missing != 1 else "still lacks a result"),
        (sum(one.recommendation == "accept" for one in verdicts), "may be accepted"),
    )
    told = [f"{number} {words}" for number, words in kinds if number]
    return told[0] if len(told) == 1 else f"{', '.join(told[:-1])} and {told[-1]}"


def trend(points: pd.DataFrame, signals: pd.DataFrame, *, frozen: bool, chosen: str = "") -> str:
    """What a stream shows of one lot, or of its newest, in words, with what it rests on."""
    last = points[points["lot"] == chosen].iloc[0] if chosen else points.iloc[-1]
    lot = f"Lot {last['lot']}" if chosen else f"The newest lot, {last['lot']},"
    size = int(last["size"])
    if not math.isfinite(float(last["sigma"])):
        return (
            f"{count(len(points), 'lot')} so far, of which {size} can serve as a baseline: too few,"
            " or too alike, to say what is usual."
        )
    usual = f"{written(float(last['lower']))} to {written(float(last['upper']), unit=last['unit'])}"
    rests = f"{'the frozen' if frozen else 'a provisional'} baseline of {count(size, 'lot')}"
    mine = signals[signals["lot"] == last["lot"]]["rule"].tolist()
    state = f"{lot} is unusual: {', '.join(mine)}." if mine else f"{lot} is within what is usual."
    return f"{state} Usual for this supplier is {usual}, by {rests}. {changed(points)}".strip()


def receipt(taken: Receipt) -> str:
    """What became of a file."""
    if taken.again:
        return (
            f"{taken.name} was received before; all {taken.rows} rows are known and nothing"
            " changed."
        )
    lots = f", {count(len(taken.created_lots), 'new lot')}" if taken.created_lots else ""
    return (
        f"{taken.name}: {count(taken.rows, 'row')} = {taken.stored} stored + {taken.held} held +"
        f" {taken.known} known ({count(taken.results, 'result')}{lots})."
    )


PROVISIONAL: Final = (
    "Nobody has frozen a baseline for this stream yet. Until then the limits rest on the lots of"
    " the crops before the newest, or on all lots while those are fewer than eight."
)


def lots(every: pd.DataFrame, waiting: pd.DataFrame) -> str:
    """How many lots there are, and how many wait."""
    decided = len(every) - int((every["decision"] == "").sum())
    return (
        f"{count(len(every), 'lot')}, of which {decided} are decided or on hold and"
        f" {len(waiting)} wait for a decision."
    )


def within(judged: LineVerdict, mean: LotMean) -> str:
    """The chance of conforming as the figure says it."""
    ends = dict.fromkeys(odds(mean, chance) for chance in judged.probability)
    return f"{' to '.join(ends)} within the limits"


def specification(one: Specification) -> str:
    """Which version judges a lot, and who stands behind it."""
    return (
        f"{one.material}, version {one.version}, in force from {one.effective_from},"
        f" approved by {one.approved_by}: {one.reason}"
    )


def held_for_lot(held: pd.DataFrame) -> str:
    """What of a lot's readings waits at intake."""
    kinds = ", ".join(dict.fromkeys(code(one) for one in held["code"]))
    files = ", ".join(dict.fromkeys(held["name"]))
    return f"{count(len(held), 'row')} of {files} could not be taken in for this lot: {kinds}."


def held_group(group: Mapping[Hashable, Any]) -> str:
    """One group of held rows in a line."""
    return f"{count(int(group['rows']), 'row')} of {group['name']}: {code(group['code'])}"


def files(names: pd.Series) -> str:
    """Where held rows are: the file, or how many files."""
    unique = list(dict.fromkeys(names))
    if len(unique) <= 2:
        return f"in {' and '.join(unique)}"
    return f"in {len(unique)} files, the last {unique[-1]}"


def checked_again(taken: Receipt) -> str:
    """What became of the rows that waited."""
    return (
        f"{taken.name} checked again: {count(taken.rows, 'row')} waited, {taken.stored} are stored"
        f" now, {taken.known} are known, {taken.held} still wait."
    )


def intake(receipts: pd.DataFrame, held: pd.DataFrame) -> str:
    """What has come in, and what waits."""
    if receipts.empty:
        return (
            "Nothing has been received yet. Start with a catalogue and a source profile (TOML),"
            " then the files of your laboratory."
        )
    rows, files = int(receipts["rows"].sum()), len(receipts)
    return (
        f"{count(files, 'file')} with {count(rows, 'row')} received, the last one"
        f" {receipts['name'].iloc[0]}; {count(len(held), 'row')} still held."
    )


def results(frame: pd.DataFrame) -> list[str]:
    """One line a result, to choose it by."""
    return [
        f"{row['characteristic']} by {row['method']}, sample {row['sample'] or '–'}"
        f"{', reading ' + row['replicate'] if row['replicate'] else ''}:"
        f" {interval(row['value_low'], row['value_high'], row['unit'])}"
        for row in frame.to_dict("records")
    ]


def origin(result: Mapping[str, Any]) -> str:
    """Where a number came from: file, row, who brought it, and how an open reading is meant."""
    open_reading = {
        "<": " The reading lies below the quantification limit, so the value is an upper bound.",
        ">": " The reading lies above the calibrated range, so the value is a lower bound.",
    }.get(result["qualifier"], "")
    return (
        f"Row {result['source_row']} of {result['file']}, brought by {result['received_by']} on"
        f" {day(result['received_at'])}; the file's SHA-256 begins with"
        f" {result['sha256'][:12]}.{open_reading}"
    )


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

_KINDS: Final[Mapping[str, str]] = {
    "moving range": "moving range (the usual)",
    "standard deviation": "standard deviation",
    "prediction": "prediction (few lots)",
    "guaranteed": "guaranteed rate of false alarms (few lots)",
}
_MONTH: Final = 365.25 / 12.0


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


def lots_per_month(points: pd.DataFrame) -> float:
    """How many lots of a stream came in a month over its last year."""
    last = points["received_at"].max()
    year = points[points["received_at"] > last - pd.Timedelta(days=365)]
    days = (last - points["received_at"].min()).days
    months = min(max(days, 30), 365) / _MONTH
    return max(float(len(year) / months), 0.1)


def priced(price: Price) -> str:
    """What a set of run rules costs and brings, in lots and months."""
    about = "" if price.exact else "about "
    lots = price.lots_per_month
    frequency = f"{lots:.1f}".removesuffix(".0")
    return (
        f"With these rules and your {frequency} lots a month, expect one false alarm in {about}"
        f"{price.false_alarm_lots:.0f} lots ({price.false_alarm_months:.0f} months); a supplier who"
        f" moves by one sigma is noticed after {about}{price.detection_lots:.0f} lots."
    )


def changed(points: pd.DataFrame) -> str:
    """When a stream most likely moved; empty where nothing says that it did."""
    usable = points[(points["censored"] == 0).to_numpy()]
    if len(usable) < 4:
        return ""
    log = bool((usable["scale"] == "log").all())
    worked = np.log(usable["value"]) if log else usable["value"]
    try:
        found = change_point(worked)
    except NoSpread:
        return ""
    if found.p_value > 0.05:
        return ""
    lots, unit = usable["lot"].tolist(), str(usable["unit"].iloc[0])
    range_ = found.plausible()
    before, after = (math.exp(one) if log else one for one in (found.before, found.after))
    spread = f" (90 % sure it was between {lots[range_[0]]} and {lots[range_[-1]]})"
    return (
        f"Most likely the level stepped at {lots[found.start]}{spread if len(range_) > 1 else ''},"
        f" from {written(before)} to {written(after, unit=unit)}."
    )


def suggested(points: pd.DataFrame) -> list[str]:
    """What to look at before freezing a baseline; nothing of it is applied."""
    usable = points[(points["censored"] == 0).to_numpy()]
    log = bool((usable["scale"] == "log").all())
    try:
        found = suggest(usable["value"].to_numpy(), scale="log" if log else "linear")
    except (TooFewLots, NoSpread, NotPositive) as problem:
        return [f"No suggestion: {problem}"]
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
