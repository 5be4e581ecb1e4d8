"""Suppliers against each other, as files that are saved and as plain values for programs."""

from typing import Any, Final

import numpy as np
import pandas as pd

from dashboard.suppliers.tables.comparison import pairs_table, patterns_table
from dashboard.suppliers.tables.numbers import supplier_numbers
from dashboard.suppliers.words import certificates, comparison, differences
from spc.answers.suppliers_compared import SuppliersCompared
from spc.compare.certificate_checks.certificate_comparison import CertificateComparison

_SCORES: Final = ("lot", "E_n", "zeta")


def suppliers_file(told: SuppliersCompared) -> pd.DataFrame:
    """The numbers of every supplier under names that explain themselves."""
    return supplier_numbers(told).rename(columns=_headings(told))


def beside(told: SuppliersCompared) -> dict[str, pd.DataFrame]:
    """Further sheets: pairs, patterns, and the lots and certificates all of it comes from."""
    return {
        "pairs": pairs_table(told),
        "patterns": patterns_table(told),
        "lots": _lots(told),
        "certificates": _certificates(told),
    }


def compare_json(told: SuppliersCompared) -> dict[str, Any]:
    """What `compare --json` prints."""
    found, tests = told.found, told.suppliers.levels
    return {
        "material": found.material,
        "characteristic": found.characteristic,
        "method": found.method,
        "basis": found.basis,
        "unit": found.unit,
        "scale": found.scale,
        "lots": len(found.lots),
        "left_out": found.left_out,
        "answer": comparison.answer(told),
        "suppliers": _records(supplier_numbers(told)),
        "welch_p": None if tests is None else tests.welch.p_value,
        "pairs": _pairs(told),
        "odd": certificates.odd(told),
        "unsaid": list(told.suppliers.reasons),
    }


def _pairs(told: SuppliersCompared) -> list[dict[str, Any]]:
    pairs, names = told.suppliers.pairs, told.suppliers.supplier
    by = "ratio" if told.found.scale == "log" else "difference"
    frame = pd.DataFrame(
        {
            "first": [names[one] for one in pairs.first],
            "second": [names[one] for one in pairs.second],
            by: pairs.difference,
            f"{by}_low": pairs.low,
            f"{by}_high": pairs.high,
            "p_value": pairs.p_value,
            "equivalence_p": pairs.equivalence_p,
            "verdict": list(pairs.verdict),
        }
    )
    return _records(frame)


def _records(frame: pd.DataFrame) -> list[dict[str, Any]]:
    """Rows as plain values; nothing stands where a number is missing or endless."""
    plain = frame.replace([np.inf, -np.inf], np.nan).astype(object)
    rows = plain.where(plain.notna(), None).to_dict("records")
    return [{str(name): cell for name, cell in row.items()} for row in rows]


def _headings(told: SuppliersCompared) -> dict[str, str]:
    unit, log = told.found.unit, told.found.scale == "log"
    by = "share" if log else unit
    money = f"{differences.currency(told)} per 1000 heat units".strip()
    named = {
        "mean": f"mean ({unit})",
        "between_cv": "between lots (coefficient of variation)",
        "within_cv": "within a lot (coefficient of variation)",
        "crop_change": f"newest crop against earlier ones ({by})",
        "per_lot": f"from lot to lot ({by})",
        "bias": f"certificates against own results ({by})",
        "cost": money,
    }
    ends = {f"{name}_{end}": f"{head}, {end}" for name, head in named.items() for end in _ENDS}
    return {
        **named,
        **ends,
        "drawn_mean": f"mean drawn towards all suppliers ({unit})",
        "most_consistent": "chance of being the most consistent",
        "inside_limits": "chance of the next lot inside limits",
        "newest_crop": "newest crop",
        "crop_lots": "lots of the newest crop",
        "earlier_lots": "lots of earlier crops",
        "agreement_low": f"95 % of certificates from ({by})",
        "agreement_high": f"95 % of certificates to ({by})",
        "next_within": f"chance of the next certificate within {differences.nearness(told)}",
        "beyond_uncertainty": "certificates beyond their uncertainty (E_n over 1)",
        "cost_lots": "lots with price and quantity",
        "unsaid": "what cannot be said",
    }


_ENDS: Final = ("low", "high")


def _lots(told: SuppliersCompared) -> pd.DataFrame:
    lots, found = told.found.lots, told.found
    spread = "of logarithms" if found.scale == "log" else found.unit
    return pd.DataFrame(
        {
            "lot": lots["lot"],
            "supplier": lots["supplier"],
            "received": lots["received_at"],
            "crop": lots["crop_year"],
            f"{found.characteristic} ({found.unit})": lots["value"],
            f"standard deviation of its samples ({spread})": lots["spread"],
            "samples": lots["samples"].astype(int),
            "readings": lots["readings"].astype(int),
            "kg": lots["packages"] * lots["package_kg"],
            "price per kg": lots["price_per_kg"],
            "currency": lots["currency"],
            "decision": lots["decision"],
        }
    )


def _certificates(told: SuppliersCompared) -> pd.DataFrame:
    said, unit = told.found.declared, told.found.unit
    scored = pd.DataFrame(
        [
            row
            for found in told.belief.values()
            if isinstance(found, CertificateComparison)
            for row in zip(found.lot, found.expanded_score, found.zeta, strict=True)
        ],
        columns=list(_SCORES),
    )
    frame = pd.DataFrame(
        {
            "lot": said["lot"],
            "supplier": said["supplier"],
            "received": said["received_at"],
            f"certificate ({unit})": said["declared"],
            f"own result ({unit})": said["own"],
        }
    )
    return frame.merge(scored, on="lot", how="left")
