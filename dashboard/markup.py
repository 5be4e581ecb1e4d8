"""Blocks of a page as HTML: queue, verdict lines, facts.  Every text of a user's is escaped."""

import json
from collections.abc import Mapping, Sequence
from datetime import date
from html import escape
from typing import Any, Final
from urllib.parse import quote

import pandas as pd

from dashboard import wording
from dashboard.figures.verdict_mark import Decision, disposition_mark, verdict_mark
from dashboard.wording import sign_in
from dashboard.wording.mending import beside as told_mend
from dashboard.wording.mending import judged as judged_in_words
from spc.acceptance import LotVerdict
from spc.acceptance.lines import LineVerdict, Outcome
from spc.acceptance.verdict import Recommendation
from spc.store import Lot
from spc.store.withdrawals import Changed

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


def signed_in(line: str) -> str:
    """Whose page it is, and the way out."""
    out = f'<a target="_self" href="/logout">{escape(sign_in.SIGN_OUT)}</a>'
    return f'<p class="lh-who">{escape(line)} {out}</p>'


def ended() -> str:
    """What stands where a page would be, once its session has ended."""
    again = f'<a target="_self" href="/login">{escape(sign_in.SIGN_IN)}</a>'
    return f'<p class="lh-lead" role="alert">{escape(sign_in.ENDED)} {again}</p>'


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
        f'<span class="lh-quiet">{wording.count(days, "day")}{state}</span></span>'
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
    return f"<b>{escape(word)}</b>{_sentence(rest)}"


def _sentence(text: str) -> str:
    """A sentence, with no line ended between a number and its per cent."""
    return escape(text).replace(" %", "\N{NO-BREAK SPACE}%")


def lot_address(lot: str) -> str:
    """Address of a lot's dossier."""
    return f"/lot?lot={quote(lot)}"


def line(judged: LineVerdict) -> str:
    """One line of the verdict: mark, what was found, what would settle it."""
    marks = [
        *(["safety"] if judged.line.safety else []),
        *(["reference method only"] if judged.line.reference_method_only else []),
    ]
    tags = "".join(f'<span class="lh-tag">{tag}</span>' for tag in marks)
    remedy = f'<span class="lh-remedy">{_sentence(judged.remedy)}</span>' if judged.remedy else ""
    source = f'<span class="lh-quiet">{escape(judged.line.source)}</span>'
    return (
        f'<div class="lh-line">{outcome_mark(judged.outcome)}'
        f"<span><b>{escape(judged.line.characteristic)}</b> {escape(judged.outcome)}{tags}<br>"
        f"{_sentence(judged.reason)} {remedy}{_corrected(judged)}<br>{source}</span></div>"
    )


def _corrected(judged: LineVerdict) -> str:
    said = "" if judged.mean is None else wording.corrected(judged.mean)
    return f'<span class="lh-tag">{escape(said)}</span>' if said else ""


def facts(lot: Lot) -> str:
    """What was delivered."""
    told: list[tuple[str, str]] = [
        ("material", lot.material),
        ("supplier", lot.supplier),
        ("supplier's lot", lot.supplier_lot),
        ("received", wording.day(lot.received_at)),
        ("crop", "" if lot.harvest_year is None else str(lot.harvest_year)),
        ("quantity", _quantity(lot)),
        (
            "price",
            "" if lot.price_per_kg is None else f"{lot.price_per_kg:.2f} {lot.currency}/kg",
        ),
    ]
    return pairs(told)


def _quantity(lot: Lot) -> str:
    if lot.packages is None or lot.package_kg is None:
        return ""
    return f"{lot.packages} × {lot.package_kg:g} kg"


def original(row: Mapping[str, str]) -> str:
    """A row of a file, cell by cell, as it came."""
    return pairs([(header, text) for header, text in row.items() if text])


def what_hangs_on(batch: str) -> str:
    """The way to what would change if a sensor batch were withdrawn."""
    address = f"/intake?withdraw=sensor%20batch&withdraw-sensor-batch={quote(batch)}"
    return (
        f'<ul class="lh-flags"><li><a target="_self" href="{address}">See what would change if the'
        f" results of {escape(batch)} were withdrawn</a></li></ul>"
    )


def changed(lots: Sequence[Changed]) -> str:
    """Lots that would be judged otherwise: as it stands, and as it would be."""
    items = [
        f"<li>{_lot_link(one.lot)} ({escape(one.decision or 'waiting')}):"
        f" {escape(judged_in_words(one.before))}<br>→ {escape(judged_in_words(one.after))}</li>"
        for one in lots
    ]
    return f'<ul class="lh-flags">{"".join(items)}</ul>'


def mended(mends: pd.DataFrame, row: Mapping[str, str]) -> str:
    """What people put into the cells of a row, beside what came."""
    items = [f"<li>{escape(told_mend(one, row))}</li>" for one in mends.to_dict("records")]
    return f'<ul class="lh-flags">{"".join(items)}</ul>'


def flags(judged: LotVerdict) -> str:
    """What stands beside the verdict."""
    items = [
        f"<li><b>{escape(flag.name)}</b>{' (holds the lot)' if flag.holds else ''}:"
        f" {_sentence(flag.sentence)}</li>"
        for flag in judged.flags
    ]
    return f'<ul class="lh-flags">{"".join(items)}</ul>'


def decisions(frame: pd.DataFrame) -> str:
    """What was decided of a lot, oldest first."""
    items = [
        f"<li>{_stamp(row['decision'])} <b>{escape(row['decision'])}</b>"
        f" by {escape(row['decided_by'])}"
        f" ({escape(row['role'])}) on {wording.day(row['decided_at'])}"
        f"{_seconded(row['second_person'])}{_limited(row)}: {escape(row['reason'])}"
        f"{'' if row['evidence'] else ' <i>(before this record was kept)</i>'}</li>"
        for row in frame.to_dict("records")
    ]
    return f'<ul class="lh-flags">{"".join(items)}</ul>'


def _stamp(decision: Decision) -> str:
    return mark(disposition_mark(decision), decision)


def void(frame: pd.DataFrame) -> str:
    """Results that no longer count, with their cause and the two persons."""
    items = [
        f"<li>Void: {escape(row['characteristic'])} by {escape(row['method'])}, sample"
        f" {escape(row['sample'] or '–')}, {escape(row['reading_text'])}"
        f" {escape(row['reading_unit'])}: {escape(row['cause'])} ({escape(row['invalidated_by'])}"
        f" and {escape(row['second_person'])}, {wording.day(row['invalidated_at'])})</li>"
        for row in frame.to_dict("records")
    ]
    return f'<ul class="lh-flags">{"".join(items)}</ul>'


def _limited(row: Mapping[Any, Any]) -> str:
    if not row["scope"]:
        return ""
    return f", for {escape(row['scope'])} until {escape(row['expires_on'])}"


def _seconded(name: str) -> str:
    return f", with {escape(name)}" if name else ""


def moved(signals: pd.DataFrame) -> str:
    """New signals, one line a stream: what is unusual at its newest such lot, and since when."""
    items = [_moved_row(group) for _, group in signals.groupby("stream", sort=False)]
    return f'<ul class="lh-flags">{"".join(items)}</ul>'


def _moved_row(group: pd.DataFrame) -> str:
    newest, *earlier = list(dict.fromkeys(group["lot"]))
    first = group.iloc[0].to_dict()
    address = "&".join(
        f"{name}={quote(str(first[name]))}"
        for name in ("material", "supplier", "characteristic", "method", "basis")
        if first[name]
    )
    rules = ", ".join(group.loc[group["lot"] == newest, "rule"])
    also = f"; also at {', '.join(_lot_link(lot) for lot in earlier)}" if earlier else ""
    return (
        f'<li><a target="_self" href="/trends?{address}">{escape(first["material"])} from'
        f" {escape(first['supplier'])}</a>: {escape(first['characteristic'])} by"
        f" {escape(first['method'])} at {_lot_link(newest)}: {escape(rules)}{also}.</li>"
    )


def _lot_link(lot: str) -> str:
    return f'<a target="_self" href="{lot_address(lot)}">{escape(lot)}</a>'


def held(summary: pd.DataFrame) -> str:
    """Held rows by what is wrong with them."""
    items = [
        f"<li><b>{wording.count(int(row['rows']), 'row')}</b>:"
        f" {escape(wording.code(row['code']))}, {escape(row['where'])}</li>"
        for row in summary.to_dict("records")
    ]
    return f'<ul class="lh-flags">{"".join(items)}</ul>'


def pairs(told: Sequence[tuple[str, str]]) -> str:
    """Names with what is told under each; those without are left out."""
    inside = "".join(
        f"<div><dt>{escape(name)}</dt><dd>{escape(text)}</dd></div>" for name, text in told if text
    )
    return f'<dl class="lh-facts">{inside}</dl>'


def investigations(frame: pd.DataFrame) -> str:
    """What was found out about signals, newest first."""
    items = [
        f"<li>{_lot_link(row['lot'])} ({escape(', '.join(json.loads(row['signals'])))}):"
        f" {escape(row['cause'])}; {escape(row['action'])}. Opened by {escape(row['opened_by'])} on"
        f" {wording.day(row['opened_at'])}{_ended(row)}</li>"
        for row in frame.to_dict("records")
    ]
    return f'<ul class="lh-flags">{"".join(items)}</ul>'


def _ended(row: Mapping[Any, Any]) -> str:
    if not row["closed_by"]:
        return ", <b>open</b>."
    return (
        f", closed by {escape(row['closed_by'])} on {wording.day(row['closed_at'])}:"
        f" {escape(row['conclusion'])}."
    )
