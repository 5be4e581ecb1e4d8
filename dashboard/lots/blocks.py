"""Blocks of a lot's dossier as HTML.  Every text of a user's is escaped."""

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

import pandas as pd

from dashboard.frame.approval_words import signed_under
from dashboard.frame.charts.verdict_mark import Decision, disposition_mark
from dashboard.frame.markup import bulleted, mark, outcome_mark, pairs, unbroken
from dashboard.frame.signing_words import signature
from dashboard.frame.words import day
from dashboard.lots import decision_words, words
from spc.acceptance import LotVerdict
from spc.acceptance.evidence.lines import LineVerdict
from spc.answers.signed_versions import SignedVersion
from spc.store import Lot
from spc.store.people import Request


def line(judged: LineVerdict) -> str:
    """One line of the verdict: mark, what was found, what would settle it."""
    marks = [
        *(["safety"] if judged.line.safety else []),
        *(["reference method only"] if judged.line.reference_method_only else []),
    ]
    tags = "".join(f'<span class="lh-tag">{tag}</span>' for tag in marks)
    remedy = f'<span class="lh-remedy">{unbroken(judged.remedy)}</span>' if judged.remedy else ""
    source = f'<span class="lh-quiet">{escape(judged.line.source)}</span>'
    return (
        f'<div class="lh-line">{outcome_mark(judged.outcome)}'
        f"<span><b>{escape(judged.line.characteristic)}</b> {escape(judged.outcome)}{tags}<br>"
        f"{unbroken(judged.reason)} {remedy}{_corrected(judged)}<br>{source}</span></div>"
    )


def _corrected(judged: LineVerdict) -> str:
    said = "" if judged.mean is None else words.corrected(judged.mean)
    return f'<span class="lh-tag">{escape(said)}</span>' if said else ""


def facts(lot: Lot) -> str:
    """What was delivered."""
    told: list[tuple[str, str]] = [
        ("material", lot.material),
        ("supplier", lot.supplier),
        ("supplier's lot", lot.supplier_lot),
        ("received", day(lot.received_at)),
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


def flags(judged: LotVerdict) -> str:
    """What stands beside the verdict."""
    items = [
        f"<li><b>{escape(flag.name)}</b>{' (holds the lot)' if flag.holds else ''}:"
        f" {unbroken(flag.sentence)}</li>"
        for flag in judged.flags
    ]
    return bulleted(items)


def decisions(
    frame: pd.DataFrame, under: Mapping[str, SignedVersion], asked: Sequence[Request]
) -> str:
    """What was decided of a lot, oldest first: by whom, how signed, under which version."""
    signed = {one.request: one for one in asked}
    items = [
        f"<li>{_stamp(row['decision'])} {_struck(row)}"
        f" by {escape(row['decided_by'])} ({escape(row['role'])})"
        f"{escape(decision_words.beside(row))} on {day(row['decided_at'])}: {escape(row['reason'])}"
        f"{_standing(row, under.get(row['disposition']), signed.get(row['request']))}</li>"
        for row in frame.to_dict("records")
    ]
    return bulleted(items)


def _struck(row: Mapping[Any, Any]) -> str:
    """The decision; struck through where it was found wrong."""
    tag = "s" if row["superseded_by"] else "b"
    return f"<{tag}>{escape(row['decision'])}</{tag}>"


def _standing(row: Mapping[Any, Any], under: SignedVersion | None, asked: Request | None) -> str:
    told = (
        decision_words.limited(row),
        decision_words.correction(row),
        decision_words.how(row),
        "" if under is None else signed_under(under),
        *(() if asked is None else (signature(one) for one in asked.signatures)),
    )
    return "".join(f'<br><span class="lh-quiet">{escape(one)}</span>' for one in told if one)


def _stamp(decision: Decision) -> str:
    return mark(disposition_mark(decision), decision)


def void(frame: pd.DataFrame) -> str:
    """Results that no longer count, with their cause and the two persons."""
    items = [
        f"<li>Void: {escape(row['characteristic'])} by {escape(row['method'])}, sample"
        f" {escape(row['sample'] or '–')}, {escape(row['reading_text'])}"
        f" {escape(row['reading_unit'])}: {escape(row['cause'])} ({escape(row['invalidated_by'])}"
        f"{_and(row['second_person'])}, {day(row['invalidated_at'])})</li>"
        for row in frame.to_dict("records")
    ]
    return bulleted(items)


def corrected(frame: pd.DataFrame) -> str:
    """Results that took the place of others: old and new, who, when and why."""
    items = [
        f"<li>Corrected: {escape(row['characteristic'])} by {escape(row['method'])}, sample"
        f" {escape(row['sample'] or '–')}: {escape(row['now'])} instead of {escape(row['was'])}:"
        f" {escape(row['reason'])} ({escape(row['corrected_by'])}, {day(row['corrected_at'])})</li>"
        for row in frame.to_dict("records")
    ]
    return bulleted(items)


def _and(name: str) -> str:
    return f" and {escape(name)}" if name else ", one person"
