"""A proposed specification: from the lines as a person typed them to a catalogue's text."""

from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any, Final

import pandas as pd
import tomli_w

from spc.acceptance import Line, LotVerdict, Specification
from spc.digits import THIN

# What of a line follows from its characteristic.
_DERIVED: Final = ("unit", "scale")
_WORDS: Final = ("accept", "hold", "reject")


def lines_table(specification: Specification) -> pd.DataFrame:
    """The lines of a specification, one a row, as they can be edited."""
    rows = [
        {name: value for name, value in asdict(line).items() if name not in _DERIVED}
        for line in specification.lines
    ]
    return pd.DataFrame(rows)


def specification_table(specification: Specification) -> pd.DataFrame:
    """The lines of a specification as people read them."""
    return pd.DataFrame(
        [
            {
                "characteristic": line.characteristic,
                "requirement": line.requirement,
                "limits": _limits(line),
                "basis": line.basis,
                "decided by": line.rule,
                "consumer risk": line.consumer_risk,
                "producer risk": line.producer_risk,
                "plan": _plan(line),
                "each sample": line.each_sample,
                "safety": line.safety,
                "reference method only": line.reference_method_only,
                "source": line.source,
                "jurisdiction": line.jurisdiction,
            }
            for line in specification.lines
        ]
    )


def versions_table(versions: Sequence[Specification]) -> pd.DataFrame:
    """Versions of a specification, newest first."""
    return pd.DataFrame(
        [
            {
                "version": one.version,
                "in force from": one.effective_from,
                "approved by": one.approved_by,
                "reason": one.reason,
                "lines": len(one.lines),
            }
            for one in sorted(versions, key=lambda one: -one.version)
        ]
    )


def _limits(line: Line) -> str:
    """The limits and the target exactly as they were approved."""
    parts = (("min", line.lower), ("max", line.upper), ("target", line.target))
    told = [
        f"{name} {value:,.10g}".replace(",", THIN) for name, value in parts if value is not None
    ]
    return f"{', '.join(told)} {line.unit}" if told else line.unit


def _plan(line: Line) -> str:
    parts = (("n", line.plan_n), ("k", line.plan_k), ("c", line.plan_c))
    return ", ".join(f"{name} = {value:g}" for name, value in parts if value is not None)


def proposal(
    material: str,
    *,
    version: int,
    effective_from: date,
    signed: tuple[str, str],
    lines: pd.DataFrame,
) -> str:
    """The text of a catalogue that holds one specification.

    Parameters
    ----------
    signed
        Approver and reason.
    lines
        As `lines_table` gives them, after editing; cells that say nothing are left out.
    """
    approver, reason = signed
    entry = {
        "material": material,
        "version": version,
        "effective_from": effective_from,
        "approved_by": approver.strip(),
        "reason": reason.strip(),
        "line": [_said(row) for row in lines.to_dict("records")],
    }
    return tomli_w.dumps({"specification": [entry]})


def _said(row: Mapping[Any, Any]) -> dict[str, Any]:
    """The cells of a line that say something, as plain values."""
    told = {}
    for name, value in row.items():
        if value is None or value == "" or pd.isna(value):
            continue
        plain = value.item() if hasattr(value, "item") else value
        whole = name in ("plan_n", "plan_c") and float(plain).is_integer()
        told[str(name)] = int(plain) if whole else plain
    return told


def comparison(
    suppliers: Mapping[str, str],
    before: Mapping[str, LotVerdict],
    after: Mapping[str, LotVerdict],
) -> pd.DataFrame:
    """What the proposed limits would have done, by supplier: lots accepted, held, rejected."""
    names = list(dict.fromkeys(suppliers.values()))
    rows = []
    for supplier in (*names, "all"):
        lots = [lot for lot, one in suppliers.items() if supplier in (one, "all")]
        row: dict[str, Any] = {"supplier": supplier, "lots": len(lots)}
        for word in _WORDS:
            row[f"{word} now"] = _count(before, lots, word)
            row[f"{word} then"] = _count(after, lots, word)
        rows.append(row)
    return pd.DataFrame(rows)


def _count(verdicts: Mapping[str, LotVerdict], lots: Sequence[str], word: str) -> int:
    return sum(verdicts[lot].recommendation == word for lot in lots)


def moved(before: Mapping[str, LotVerdict], after: Mapping[str, LotVerdict]) -> pd.DataFrame:
    """The lots that the proposal would have judged otherwise."""
    return pd.DataFrame(
        [
            {
                "lot": lot,
                "now": one.recommendation,
                "then": after[lot].recommendation,
                "why": after[lot].sentence,
            }
            for lot, one in before.items()
            if one.recommendation != after[lot].recommendation
        ],
        columns=["lot", "now", "then", "why"],
    )
