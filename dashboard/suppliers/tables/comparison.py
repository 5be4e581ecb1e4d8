"""Suppliers against each other, as people read them: each estimate with its interval."""

import math
from collections.abc import Callable, Mapping
from typing import Any, Final

import pandas as pd

from dashboard.suppliers.tables.numbers import supplier_numbers
from dashboard.suppliers.words import certificates, differences
from spc.answers.suppliers_compared import SuppliersCompared
from spc.compare.between_suppliers.pairs import PairVerdict
from spc.compare.certificate_checks.certificate_comparison import CertificateComparison
from spc.digits import percent, written

_PAIRS: Final = ("supplier", "against", "they are", "difference", "interval, all pairs together")
_PATTERNS: Final = ("supplier", "looked for", "test", "seen", "chance if honest", "stands out")
_SAID: Final[Mapping[PairVerdict, str]] = {
    "equivalent": "equivalent",
    "different": "different",
    "different but within the margin": "different, too little to matter",
    "cannot be said": "not to be told apart yet",
}


def suppliers_table(told: SuppliersCompared) -> pd.DataFrame:
    """All suppliers, those of which little can be said among them."""
    rows, near = supplier_numbers(told).to_dict("records"), differences.nearness(told)
    return pd.DataFrame(
        [
            {
                "supplier": row["supplier"],
                "lots": row["lots"],
                f"mean ({told.found.unit})": _with_ends(row, "mean", written),
                "lots differ by": _with_ends(row, "between_cv", percent),
                "samples of a lot by": _with_ends(row, "within_cv", percent),
                "most consistent": _if_known(row["most_consistent"], differences.chance),
                "next lot inside limits": _if_known(row["inside_limits"], differences.chance),
                **_moves(row, told),
                f"next within {near}": _if_known(row["next_within"], percent),
                **_money(row, told),
                "what cannot be said": row["unsaid"],
            }
            for row in rows
        ]
    )


def supplier_facts(told: SuppliersCompared, supplier: str) -> list[list[str]]:
    """What is known of one supplier, name and text; nothing of the others."""
    table = suppliers_table(told).rename(columns={"lots": "lots compared"})
    (row,) = table[table["supplier"] == supplier].to_dict("records")
    names = [name for name in row if name not in ("supplier", "what cannot be said")]
    return [[str(name), str(row[name])] for name in names if row[name]]


def pairs_table(told: SuppliersCompared) -> pd.DataFrame:
    """Every two suppliers: how far apart their means are, and whether that matters."""
    found, names = told.suppliers.pairs, told.suppliers.supplier
    ratio = 1.0 if told.found.scale == "log" else 0.0
    return pd.DataFrame(
        [
            (
                names[first],
                names[second],
                _SAID[said],
                differences.signed(by - ratio, told),
                differences.between(low - ratio, high - ratio, told),
            )
            for first, second, by, low, high, said in zip(
                found.first,
                found.second,
                found.difference,
                found.low,
                found.high,
                found.verdict,
                strict=True,
            )
        ],
        columns=list(_PAIRS),
    )


def patterns_table(told: SuppliersCompared) -> pd.DataFrame:
    """What was looked for in certificates, by which test, and what came of it."""
    rounding = told.roundings
    return pd.DataFrame(
        [
            (
                name,
                one.name,
                one.test,
                one.sentence,
                _if_known(one.p_value, percent),
                _stands_out(told=one.stands_out, by=certificates.explained(one, rounding[name])),
            )
            for name, found in told.belief.items()
            if isinstance(found, CertificateComparison)
            for one in found.patterns
        ],
        columns=list(_PATTERNS),
    )


def compare_table(told: SuppliersCompared) -> pd.DataFrame:
    """What `compare` prints: one line a supplier, few columns with short heads."""
    unit = told.found.unit

    def moved(value: float) -> str:
        return differences.signed(value, told).removesuffix(unit).strip()

    return pd.DataFrame(
        [
            {
                "supplier": row["supplier"],
                "lots": row["lots"],
                f"mean {unit}": _if_known(row["mean"], written),
                "spread": _if_known(row["between_cv"], percent),
                "steadiest": _if_known(row["most_consistent"], differences.chance),
                "new crop": _if_known(row["crop_change"], moved),
                "bias": _if_known(row["bias"], moved),
                "cost": _if_known(row["cost"], written),
            }
            for row in supplier_numbers(told).to_dict("records")
        ]
    )


def _moves(row: Mapping[Any, Any], told: SuppliersCompared) -> dict[str, str]:
    """What moved, and what certificates read: signed."""

    def moved(name: str) -> str:
        if math.isnan(row[name]):
            return ""
        return f"{differences.signed(row[name], told)} ({ends(name)})"

    def ends(name: str) -> str:
        return differences.between(row[f"{name}_low"], row[f"{name}_high"], told)

    return {
        "newest crop": moved("crop_change"),
        "from lot to lot": moved("per_lot"),
        "certificates read": moved("bias"),
        "95 % of certificates": "" if math.isnan(row["bias"]) else ends("agreement"),
    }


def _money(row: Mapping[Any, Any], told: SuppliersCompared) -> dict[str, str]:
    name = f"{differences.currency(told)} per 1000 heat units".strip()
    return {name: _with_ends(row, "cost", written)}


def _with_ends(row: Mapping[Any, Any], name: str, write: Callable[[float], str]) -> str:
    value = row[name]
    return "" if math.isnan(value) else f"{write(value)}{_ends(row, name, write)}"


def _ends(row: Mapping[Any, Any], name: str, write: Callable[[float], str]) -> str:
    low, high = row[f"{name}_low"], row[f"{name}_high"]
    return "" if math.isnan(low) or math.isnan(high) else f" ({write(low)} to {write(high)})"


def _if_known(value: float, write: Callable[[float], str]) -> str:
    return "" if math.isnan(value) else write(value)


def _stands_out(*, told: bool, by: bool) -> str:
    if not told:
        return ""
    return "by rounding" if by else "yes"
