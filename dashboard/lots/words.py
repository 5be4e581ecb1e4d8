"""A lot's dossier in words: how to sample it, what was read of it, what waits for it."""

from collections.abc import Hashable, Mapping
from typing import Any, Final

import numpy as np
import pandas as pd

from dashboard.frame.words import code, count, day, interval
from spc.acceptance import BulkPlan, LineVerdict, LotMean, Method, SamplingAdvice, VariablesPlan
from spc.acceptance.evidence.lines import odds
from spc.acceptance.plans.switching import InspectionLevel, SkipAdvice
from spc.digits import change, percent, written


def plan_sentence(plan: VariablesPlan | BulkPlan) -> str:
    """What a plan asks for, in a sentence."""
    if isinstance(plan, VariablesPlan):
        return (
            f"Test {plan.n} packages singly; accept if the mean lies at least {plan.k:.3f} standard"
            " deviations inside each limit."
        )
    side = "at least" if plan.side == "lower" else "at most"
    limit = float(np.exp(plan.acceptance_limit))
    return (
        f"Mix {count(plan.increments, 'increment')}, prepare {count(plan.portions, 'portion')}"
        f" with {count(plan.tests, 'test')} each; accept if the average is {side}"
        f" {written(limit)}. That costs {plan.cost:.0f}, the least that keeps both risks"
        f" ({percent(plan.producer_risk)} and {percent(plan.consumer_risk)})."
    )


def lots(every: pd.DataFrame, waiting: pd.DataFrame) -> str:
    """How many lots there are, and how many wait."""
    decided = len(every) - len(waiting)
    return f"{count(len(every), 'lot')}: {decided} decided, {len(waiting)} waiting for a decision."


def signed(decision: str, *, waiting: bool) -> str:
    """What a signature did."""
    if waiting:
        return f"Signed: {decision}. It waits for a second person; until then the lot is as it was."
    return f"Signed: {decision}. The evidence shown here is in the record."


VOID: Final = (
    "A result is not void because it is unwelcome or far from the others. It is void when a cause"
    " was found in the laboratory; two persons say so, and it stays in the record."
)


def inspection(level: InspectionLevel, skip: SkipAdvice) -> str:
    """How closely the lot is looked at, and whether such lots may go uninspected."""
    return f"Inspection is {level.level}: {level.reason} {skip.reason}"


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
