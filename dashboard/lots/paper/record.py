"""The record of one lot as PDF: what an auditor reads, in reading order."""

import json
from typing import Final

import pandas as pd

from dashboard.frame.approval_words import approved, specification
from dashboard.frame.paper import Told, pdf, short, utc
from dashboard.frame.words import CAUTIONS, HANDLING, clock_behind, day
from dashboard.lots import words
from dashboard.lots.paper import charted, decisions, lines, readings
from dashboard.lots.paper.readings import moment
from spc.acceptance import LotVerdict
from spc.acceptance.evidence.lines import Outcome
from spc.answers.lot_record import LotRecord
from spc.store import Anchor, Lot

TEMPLATE: Final = "lots/paper.typ"
_OF_A_HASH: Final = 16
_IN_THE_FOOTER: Final = 40


def lot_record(record: LotRecord) -> bytes:
    """The record of one lot as PDF.

    Parameters
    ----------
    record
        Everything it shows; see `spc.answers.lots`.

    Returns
    -------
    bytes
        A4 pages, the same for the same record.
    """
    return pdf(TEMPLATE, _told(record), printed_at=record.printed_at)


def _told(record: LotRecord) -> Told:
    judged = record.verdict
    word, _, rest = judged.sentence.partition(":")
    return {
        "title": f"Lot {record.lot.lot}",
        "short": f"Lot {short(record.lot.lot, _IN_THE_FOOTER)}",
        "what": f"{record.lot.material} from {record.lot.supplier}",
        "mark": lines.mark(_outcome(judged)),
        "sentence": [word, rest.strip()],
        "state": decisions.state(record),
        "facts": _facts(record.lot),
        "specification": _specification(record),
        "lines": [lines.line(one, record.results) for one in judged.lines],
        "flags": [
            [flag.name, "holds the lot" if flag.holds else "", flag.sentence]
            for flag in judged.flags
        ],
        "held": _held(record.held),
        "streams": [
            charted.stream(one, judged.specification, record.lot.lot) for one in record.streams
        ],
        "readings": readings.readings(record.results, judged.specification),
        "void": _void(record.void),
        "corrected": _corrected(record.corrected),
        "draws": [words.drawn(one) for one in record.draws],
        "calculations": [readings.calculation(one) for one in record.calculations],
        "decisions": decisions.decisions(record),
        "waiting": decisions.waiting(record),
        "attachments": _attachments(record.attachments),
        "entries": _entries(record.audit, record.sources),
        "sources": _sources(record.sources),
        "anchor": _anchor(record),
        "printed": f"printed {decisions.told_at(record.printed_at)} by"
        f" {short(record.printed_by, _IN_THE_FOOTER)}",
        "cautions": [CAUTIONS, HANDLING],
    }


def _outcome(judged: LotVerdict) -> Outcome:
    """The mark a recommendation wears; empty while a result is missing."""
    if judged.recommendation == "accept":
        return "conforming"
    if judged.recommendation == "reject":
        return "not conforming"
    missing = any(line.outcome == "no result" for line in judged.lines)
    return "no result" if missing else "undecided"


def _facts(lot: Lot) -> list[list[str]]:
    counted = lot.packages is not None and lot.package_kg is not None
    quantity = f"{lot.packages} × {lot.package_kg:g} kg" if counted else ""
    price = "" if lot.price_per_kg is None else f"{lot.price_per_kg:.2f} {lot.currency}/kg"
    told = [
        ("material", lot.material),
        ("supplier", lot.supplier),
        ("supplier's lot", lot.supplier_lot),
        ("received", day(lot.received_at)),
        ("crop", "" if lot.harvest_year is None else str(lot.harvest_year)),
        ("quantity", quantity),
        ("price", price),
    ]
    return [[name, text] for name, text in told if text]


def _specification(record: LotRecord) -> list[list[str]]:
    judging = record.verdict.specification
    if record.judged_under is None:
        return [["judged by", specification(judging, None)]]
    told = [
        ["judged by", f"{judging.material}, version {judging.version}"],
        ["in force from", judging.effective_from],
        ["approval", approved(record.judged_under)],
        ["flags that hold", ", ".join(judging.hold_on)],
        ["reason", judging.reason],
    ]
    return [[name, text] for name, text in told if text]


def _held(held: pd.DataFrame) -> Told:
    """Rows that name the lot and wait, a group for each file and cause."""
    groups = held.groupby(["name", "reason", "remedy"], sort=False)
    return {
        "sentence": "" if held.empty else words.held_for_lot(held),
        "groups": [
            {
                "file": name,
                "reason": reason,
                "remedy": remedy,
                "rows": [
                    [str(row["source_row"]), _as_it_came(row["original"])]
                    for row in group.to_dict("records")
                ],
            }
            for (name, reason, remedy), group in groups
        ],
    }


def _as_it_came(original: str) -> str:
    """The cells of a row, each after its header."""
    try:
        cells = json.loads(original)
    except json.JSONDecodeError:
        return original
    return " · ".join(f"{header}: {text}" for header, text in cells.items() if text)


def _void(void: pd.DataFrame) -> list[list[str]]:
    return [
        [
            f"{row['characteristic']} by {row['method']}",
            row["sample"],
            row["replicate"],
            f"{row['reading_text']} {row['reading_unit']}",
            row["cause"],
            f"{row['invalidated_by']}, {_beside(row['second_person'])}",
            moment(row["invalidated_at"]),
        ]
        for row in void.to_dict("records")
    ]


def _corrected(corrected: pd.DataFrame) -> list[list[str]]:
    return [
        [
            f"{row['characteristic']} by {row['method']}",
            row["sample"],
            row["was"],
            row["now"],
            row["reason"],
            row["corrected_by"],
            moment(row["corrected_at"]),
        ]
        for row in corrected.to_dict("records")
    ]


def _beside(second: str) -> str:
    return f"with {second}" if second else "one person"


def _attachments(attached: pd.DataFrame) -> list[list[str]]:
    return [
        [row["name"], row["note"], row["attached_by"], moment(row["attached_at"]), row["sha256"]]
        for row in attached.to_dict("records")
    ]


def _entries(audit: pd.DataFrame, sources: pd.DataFrame) -> list[list[str]]:
    names = dict(zip(sources["receipt"], sources["name"], strict=True))
    return [
        [
            str(row["sequence"]),
            moment(row["entered_at"]),
            row["actor"],
            row["action"] + clock_behind(row["clock"]),
            names.get(row["subject"], row["subject"]),
            row["hash"][:_OF_A_HASH],
        ]
        for row in audit.to_dict("records")
    ]


def _sources(sources: pd.DataFrame) -> list[list[str]]:
    return [
        [row["name"], row["received_by"], moment(row["received_at"]), row["sha256"]]
        for row in sources.to_dict("records")
    ]


def _anchor(record: LotRecord) -> str:
    """The head of the chain as a line that the store can be held against later."""
    entries, head = record.head
    at = utc(record.printed_at).replace(microsecond=0, tzinfo=None)
    return Anchor(at=at, entries=entries, head=head).line
