"""Blocks of a lot's dossier as HTML.  Every text of a user's is escaped."""

from collections.abc import Mapping
from html import escape
from typing import Any

import pandas as pd

from dashboard.frame.approval_words import signed_under
from dashboard.frame.charts.verdict_mark import Decision, disposition_mark
from dashboard.frame.markup import bulleted, mark, outcome_mark, pairs, unbroken
from dashboard.frame.words import day
from dashboard.lots import words
from spc.acceptance import LotVerdict
from spc.acceptance.evidence.lines import LineVerdict
from spc.answers.signed_versions import SignedVersion
from spc.store import Lot


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


def decisions(frame: pd.DataFrame, under: Mapping[str, SignedVersion]) -> str:
    """What was decided of a lot, oldest first, and under which version of the specification."""
    items = [
        f"<li>{_stamp(row['decision'])} <b>{escape(row['decision'])}</b>"
        f" by {escape(row['decided_by'])}"
        f" ({escape(row['role'])}) on {day(row['decided_at'])}"
        f"{_seconded(row['second_person'])}{_limited(row)}: {escape(row['reason'])}"
        f"{_how(row)}{_version(under.get(row['disposition']))}</li>"
        for row in frame.to_dict("records")
    ]
    return bulleted(items)


def _version(one: SignedVersion | None) -> str:
    return "" if one is None else f'<br><span class="lh-quiet">{escape(signed_under(one))}</span>'


def _how(row: Mapping[Any, Any]) -> str:
    """How a decision came into the record if nobody signed it here, and whether it still counts."""
    notes = [
        *([row["how"]] if row["how"] != "signed" else []),
        *(["corrects the one before"] if row["corrects"] else []),
        *(["superseded by a correction"] if row["superseded_by"] else []),
    ]
    return f" <i>({escape(', '.join(notes))})</i>" if notes else ""


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


def _limited(row: Mapping[Any, Any]) -> str:
    if not row["scope"]:
        return ""
    return f", for {escape(row['scope'])} until {escape(row['expires_on'])}"


def _and(name: str) -> str:
    return f" and {escape(name)}" if name else ", one person"


def _seconded(name: str) -> str:
    return f", with {escape(name)}" if name else ""
