"""A proposed specification: its text from edited lines, and what it would have done."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from datetime import date
from typing import Any, Final

import pandas as pd
import tomli_w

from spc.acceptance import LotVerdict, Specification
from spc.store import Store

# What of a line follows from its characteristic.
_DERIVED: Final = ("unit", "scale")
_WORDS: Final = ("accept", "hold", "reject")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ProposalEffect:
    """Lots as they are judged, and as a proposed specification would have judged them.

    Attributes
    ----------
    suppliers
        By lot.
    before, after
        Verdicts by lot.
    """

    suppliers: Mapping[str, str]
    before: Mapping[str, LotVerdict]
    after: Mapping[str, LotVerdict]

    def by_supplier(self) -> pd.DataFrame:
        """Lots accepted, held and rejected, now and then, by supplier and of all."""
        names = (*dict.fromkeys(self.suppliers.values()), "all")
        return pd.DataFrame([self._counts(supplier) for supplier in names])

    def _counts(self, supplier: str) -> dict[str, Any]:
        lots = [lot for lot, one in self.suppliers.items() if supplier in (one, "all")]
        row: dict[str, Any] = {"supplier": supplier, "lots": len(lots)}
        for word in _WORDS:
            row[f"{word} now"] = sum(self.before[lot].recommendation == word for lot in lots)
            row[f"{word} then"] = sum(self.after[lot].recommendation == word for lot in lots)
        return row

    def judged_otherwise(self) -> pd.DataFrame:
        """The lots that the proposal would have judged otherwise, with its reason."""
        return pd.DataFrame(
            [
                {
                    "lot": lot,
                    "now": one.recommendation,
                    "then": self.after[lot].recommendation,
                    "why": self.after[lot].sentence,
                }
                for lot, one in self.before.items()
                if one.recommendation != self.after[lot].recommendation
            ],
            columns=["lot", "now", "then", "why"],
        )


def lines_table(specification: Specification) -> pd.DataFrame:
    """The lines of a specification, one a row, as they can be edited.

    Parameters
    ----------
    specification
        As it stands.

    Returns
    -------
    DataFrame
        Hand it to `proposed_text` after editing.
    """
    rows = [
        {name: value for name, value in asdict(line).items() if name not in _DERIVED}
        for line in specification.lines
    ]
    return pd.DataFrame(rows)


def proposed_text(
    material: str,
    *,
    version: int,
    effective_from: date,
    reason: str,
    lines: pd.DataFrame,
) -> str:
    """The text of a catalogue that holds one specification.

    Parameters
    ----------
    material
        Of the specification.
    version
        That it becomes.
    effective_from
        Day from which on lots are to be held against it.
    reason
        Why it is proposed.
    lines
        As `lines_table` gives them, after editing; cells that say nothing are left out.

    Returns
    -------
    str
        TOML, to be received like any catalogue.
    """
    entry = {
        "material": material,
        "version": version,
        "effective_from": effective_from,
        "reason": reason.strip(),
        "line": [_said(row) for row in lines.to_dict("records")],
    }
    return tomli_w.dumps({"specification": [entry]})


def _said(row: Mapping[Any, Any]) -> dict[str, Any]:
    """The cells of a line that say something, as plain values."""
    cells = {}
    for name, value in row.items():
        if value is None or value == "" or pd.isna(value):
            continue
        plain = value.item() if hasattr(value, "item") else value
        whole = name in ("plan_n", "plan_c") and float(plain).is_integer()
        cells[str(name)] = int(plain) if whole else plain
    return cells


def effect_of_proposal(
    store: Store, newest: Specification, proposed: Specification, *, last: int
) -> ProposalEffect:
    """What proposed limits would have done to the last lots of a material.

    Parameters
    ----------
    store
        Is read only.
    newest
        The specification approved last.
    proposed
        The one held against it, of the same material.
    last
        How many lots, the newest by receipt.

    Returns
    -------
    ProposalEffect
    """
    lots = store.lots()
    looked_at = lots[lots["material"] == newest.material].tail(last)
    names = looked_at["lot"].tolist()
    return ProposalEffect(
        suppliers=dict(zip(names, looked_at["supplier"], strict=True)),
        before=store.verdicts(names, proposed=newest),
        after=store.verdicts(names, proposed=proposed),
    )
