"""What waits, what a lot is judged by, and where its numbers come from."""

from collections.abc import Hashable, Mapping, Sequence
from typing import Any, Final

import pandas as pd

from dashboard.wording.intake import code
from dashboard.wording.plain import count, day, interval
from spc.acceptance import (
    LineVerdict,
    LotMean,
    LotVerdict,
    Method,
    SamplingAdvice,
    Specification,
)
from spc.acceptance.lines import odds
from spc.digits import change, written


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


def lots(every: pd.DataFrame, waiting: pd.DataFrame) -> str:
    """How many lots there are, and how many wait."""
    decided = len(every) - len(waiting)
    return f"{count(len(every), 'lot')}: {decided} decided, {len(waiting)} waiting for a decision."


VOID: Final = (
    "A result is not void because it is unwelcome or far from the others. It is void when a cause"
    " was found in the laboratory; two persons say so, and it stays in the record."
)


def sampling(told: SamplingAdvice, packages: int) -> str:
    """What to draw, in a sentence."""
    drawn = count(told.increments, "increment")
    each = f" of {1000 * told.increment_kg:.0f} g" if told.increment_kg else ""
    whole = f", {told.aggregate_kg:g} kg together" if told.aggregate_kg else ""
    nth = f" Open every {_ordinal(told.every_nth)} package." if told.every_nth else ""
    opened_ = (
        f" That is {told.packages_to_open} of {packages} packages." if told.packages_to_open else ""
    )
    parts = f" from each of {told.sub_lots} sub-lots" if told.sub_lots > 1 else ""
    return f"Draw {drawn}{each}{parts}{whole}.{nth}{opened_}"


def _ordinal(number: int) -> str:
    suffix = {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{'th' if 10 <= number % 100 <= 13 else suffix}"


def drawn(past: Mapping[str, Any]) -> str:
    """A draw of packages, as it stands in the record."""
    return (
        f"Drawn by {past['by']} on {day(past['at'])} for {past['convention']}: packages"
        f" {', '.join(str(one) for one in past['packages'])} of {past['of']} (seed {past['seed']})."
    )


def attachment(row: Mapping[Hashable, Any]) -> str:
    """An attached file in a line."""
    note = f": {row['note']}" if row["note"] else ""
    size = f"{row['size'] / 1000:.0f} kB"
    return f"{row['name']} ({size}, {row['attached_by']}, {day(row['attached_at'])}){note}"


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


def reviewed(told: Mapping[str, Any]) -> tuple[str, str]:
    """A lot with its recommendation in a line, and the sentence that says why."""
    days = count(told["waiting_days"], "day")
    return (
        f"{told['lot']}: {told['recommendation']} ({told['material']} of {told['supplier']},"
        f" received {days} ago)",
        str(told["sentence"]),
    )


def held_for_lot(held: pd.DataFrame) -> str:
    """What of a lot's readings waits at intake."""
    kinds = ", ".join(dict.fromkeys(code(one) for one in held["code"]))
    files = ", ".join(dict.fromkeys(held["name"]))
    return f"{count(len(held), 'row')} of {files} could not be taken in for this lot: {kinds}."


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


def corrected(mean: LotMean) -> str:
    """That a lot's mean was corrected, by which correction and by how much; empty if it was not."""
    method = mean.method
    if not method.bias:
        return ""
    by = method.correction or f"the bias stated for {method.method}"
    return f"corrected by {_moved(method, mean.unit)} ({by})"


def _moved(method: Method, unit: str) -> str:
    """What the correction adds to what was read."""
    if method.relative:
        return change(1.0 / (1.0 + method.bias) - 1.0)
    return f"{'−' if method.bias > 0.0 else '+'}{written(abs(method.bias), unit=unit)}"
