"""Sentences of blends that are kept, of stock, and of what became of blends."""

import math
from collections.abc import Mapping
from typing import Any, Final

import pandas as pd

from dashboard.frame.words import count, day, joined
from spc.blend.outlook.learning import FEWEST_BLENDS, LearnedBias
from spc.blend.problem.target import plain
from spc.digits import change, percent
from spc.store.blends.blend_records import Blend

OUTCOME: Final = (
    "Whiskers are two standard uncertainties; on the broken line a blend came out as predicted."
)
WHO_BLENDS: Final = (
    "The catalogue does not know yet in whose name a blend made here stands. Say where you blend,"
    " once; then the sheet can be issued."
)
WHAT_ISSUING_DOES: Final = (
    "Issuing gives the sheet its number and sets the stock aside, so that no other recipe takes it."
)


def blends(every: pd.DataFrame) -> str:
    """How many blends are kept, and where they stand."""
    if every.empty:
        return "No blend has been kept yet: save a recipe, and it stands here."
    states = every["status"].value_counts()
    told = [f"{number} {state}" for state, number in states.items()]
    return (
        f"{count(len(every), 'blend')} {'is' if len(every) == 1 else 'are'} kept: {joined(told)}."
    )


def stock(lots: pd.DataFrame) -> str:
    """What is there, in a sentence."""
    there = lots[lots["available_kg"] > 0.0]
    free = there[there["barred"] == ""]
    uncounted = int(lots["available_kg"].isna().sum())
    said = (
        f"{count(len(there), 'lot')} hold {plain(round(float(there['available_kg'].sum())))} kg;"
        f" {plain(round(float(free['available_kg'].sum())))} kg in {count(len(free), 'lot')} may go"
        " into a blend."
    )
    if uncounted:
        said += f" Of {count(uncounted, 'lot')} nobody knows how much is there: count them."
    return said


def learnt(bias: LearnedBias) -> str:
    """What measured blends say of the model."""
    if not bias.can_be_said:
        return (
            "Whether blends come out as predicted cannot be said yet:"
            f" {count(bias.blends, 'blend')} with a measured heat,"
            f" and {FEWEST_BLENDS} are the least."
        )
    share = math.expm1(bias.bias) if bias.scale == "log" else bias.bias
    low = math.expm1(bias.low) if bias.scale == "log" else bias.low
    high = math.expm1(bias.high) if bias.scale == "log" else bias.high
    return (
        f"By {count(bias.blends, 'blend')} measured so far, blends come out {change(share)} from"
        f" what the lots alone promise ({change(low)} to {change(high)} at"
        f" {100.0 * bias.confidence:.0f} %); new predictions have it in them."
    )


def named(row: Mapping[Any, Any]) -> str:
    """A blend in a list of blends."""
    sheet = f", sheet {row['sheet']}" if row["sheet"] else ""
    return f"{row['name']} ({row['status']}{sheet}, drafted {day(pd.Timestamp(row['drafted_at']))})"


def state(planned: Blend) -> str:
    """Where a blend stands, and what may happen next."""
    draft = planned.draft
    odds = "" if draft.odds is None else f", odds {percent(draft.odds)}"
    size = f"{plain(round(draft.total_kg, 3))} kg of {draft.material}{odds}"
    since = day(pd.Timestamp(planned.since))
    told = {
        "draft": f"A draft by {planned.drafted_by}: {size}. It can be approved.",
        "approved": f"Approved on {since}: {size}. Its sheet can be issued.",
        "issued": f"Sheet {planned.sheet}, issued on {since}: {size}. Its stock is set aside.",
        "made": f"Made by sheet {planned.sheet}: {size}. It is lot {planned.lot}.",
        "cancelled": f"Given up on {since}: {size}.",
    }
    return told[planned.status]


def traced(lot: str, found: pd.DataFrame) -> str:
    """Where a lot went."""
    if found.empty:
        return f"Lot {lot} went into no blend."
    return f"Some of lot {lot} is in {count(len(found), 'lot')}."


def on_the_books(row: pd.Series) -> str:
    """What the books say of a lot before it is counted."""
    if math.isnan(row["available_kg"]):
        return f"Nobody knows how much of {row['lot']} is there."
    return (
        f"By the books {plain(round(float(row['available_kg']), 3))} kg of {row['lot']} are free"
        f" and {plain(round(float(row['reserved_kg']), 3))} kg set aside. Count all that is there,"
        " what is set aside included."
    )
