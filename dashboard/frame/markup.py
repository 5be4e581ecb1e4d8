"""Blocks of a page as HTML: queue, verdict lines, facts.  Every text of a user's is escaped."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from html import escape
from typing import Any, Final
from urllib.parse import quote

import pandas as pd

from dashboard.frame.charts.verdict_mark import verdict_mark
from dashboard.frame.lot_addresses import lot_address
from dashboard.frame.words import beside, count
from spc.acceptance import LotVerdict
from spc.acceptance.evidence.lines import Outcome
from spc.acceptance.verdict import Recommendation

# A lot's recommendation wears the mark of the outcome it follows from.
_OUTCOME: Final[Mapping[Recommendation, Outcome]] = {
    "accept": "conforming",
    "hold": "undecided",
    "reject": "not conforming",
}


def mark(svg: str, label: str) -> str:
    """A mark as a shape in the colour of the text; the page keeps no inline SVG."""
    shape = quote(svg.replace("currentColor", "black"))
    return (
        f'<span class="lh-mark" role="img" aria-label="{escape(label)}" title="{escape(label)}"'
        f" style=\"--shape: url('data:image/svg+xml,{shape}')\"></span>"
    )


def outcome_mark(outcome: Outcome) -> str:
    """The mark of a line's outcome."""
    return mark(verdict_mark(outcome), outcome)


def queue(waiting: pd.DataFrame, verdicts: Mapping[str, LotVerdict], today: date) -> str:
    """Waiting lots, oldest first: the lot, how long, what the evidence says."""
    rows = [_queue_row(row, verdicts[str(row["lot"])], today) for row in waiting.to_dict("records")]
    return f'<div class="lh-queue" role="list">{"".join(rows)}</div>'


def _queue_row(row: Mapping[Any, Any], judged: LotVerdict, today: date) -> str:
    days = (today - row["received_at"].date()).days
    state = ", on hold" if row["decision"] else ""
    return (
        f'<a class="lh-row" role="listitem" target="_self" href="{lot_address(row["lot"])}">'
        f"{recommendation_mark(judged)}"
        f'<span class="lh-what"><b>{escape(row["lot"])}</b>'
        f"<span>{escape(row['material'])}</span>"
        f'<span class="lh-quiet">{escape(row["supplier"])}</span>'
        f'<span class="lh-quiet">{count(days, "day")}{state}</span></span>'
        f'<span class="lh-why">{sentence(judged)}{_notes(judged)}</span></a>'
    )


def _notes(judged: LotVerdict) -> str:
    names = list(
        dict.fromkeys(flag.name for flag in judged.flags if flag.sentence not in judged.sentence)
    )
    if not names or judged.recommendation == "accept":
        return ""
    return f' <span class="lh-quiet">Also: {escape(", ".join(names))}.</span>'


def recommendation_mark(judged: LotVerdict) -> str:
    """The mark of a lot's recommendation; empty while a result is missing."""
    missing = any(line.outcome == "no result" for line in judged.lines)
    if judged.recommendation == "hold" and missing:
        return outcome_mark("no result")
    return outcome_mark(_OUTCOME[judged.recommendation])


def sentence(judged: LotVerdict) -> str:
    """The sentence, its first word set apart."""
    word, _, rest = judged.sentence.partition(":")
    return f"<b>{escape(word)}</b>{unbroken(rest)}"


def unbroken(text: str) -> str:
    """A sentence, with no line ended between a number and its per cent."""
    return escape(text).replace(" %", "\N{NO-BREAK SPACE}%")


def original(row: Mapping[str, str]) -> str:
    """A row of a file, cell by cell, as it came."""
    return pairs([(header, text) for header, text in row.items() if text])


def mended(mends: pd.DataFrame, row: Mapping[str, str]) -> str:
    """What people put into the cells of a row, beside what came."""
    items = [f"<li>{escape(beside(one, row))}</li>" for one in mends.to_dict("records")]
    return bulleted(items)


def bulleted(items: Iterable[str]) -> str:
    """Items of a list, each already escaped and in its own tag."""
    return f'<ul class="lh-flags">{"".join(items)}</ul>'


def lot_link(lot: str) -> str:
    """A lot's number as the way to its dossier."""
    return f'<a target="_self" href="{lot_address(lot)}">{escape(lot)}</a>'


def pairs(told: Sequence[tuple[str, str]]) -> str:
    """Names with what is told under each; those without are left out."""
    inside = "".join(
        f"<div><dt>{escape(name)}</dt><dd>{escape(text)}</dd></div>" for name, text in told if text
    )
    return f'<dl class="lh-facts">{inside}</dl>'
