"""Corrections of a method, and the lots that one would have judged otherwise."""

from collections.abc import Mapping, Sequence

import pandas as pd

from dashboard.frame.lot_addresses import lot_address
from spc.acceptance import LotMean, LotVerdict
from spc.answers import adoptions
from spc.digits import percent, written
from spc.intake.corrections import AdoptedCorrection


def corrections_table(every: Sequence[AdoptedCorrection], *, unit: str) -> pd.DataFrame:
    """Every version of a method's corrections, newest first for each kind of lot."""
    return pd.DataFrame(
        [
            {
                "for": " from ".join(filter(None, (one.material, one.supplier))) or "every lot",
                "version": one.version,
                "in force from": one.effective_from,
                "kind": "withdrawn" if adoptions.is_withdrawal(one) else one.kind,
                "factor": f"{one.slope:.4f}",
                f"added ({unit})": written(one.offset),
                "its standard uncertainty": percent(
                    one.uncertainty_at(_middle(one)) / _middle(one)
                ),
                "range": _range(one, unit),
                "lots": one.lots,
                "against": one.against,
                "approved by": one.approved_by,
                "reason": one.reason,
            }
            for one in every
        ]
    )


def _middle(one: AdoptedCorrection) -> float:
    return one.lowest / 2.0 + one.highest / 2.0


def _range(one: AdoptedCorrection, unit: str) -> str:
    if adoptions.is_withdrawal(one):
        return ""
    return f"{written(one.lowest)} to {written(one.highest, unit=unit)}"


def changes_table(
    before: Mapping[str, LotVerdict], after: Mapping[str, LotVerdict], *, characteristic: str
) -> pd.DataFrame:
    """The waiting lots that a correction would have judged on another value, and how."""
    rows = []
    for lot, judged in before.items():
        now, then = (_mean(one, characteristic) for one in (judged, after[lot]))
        if now is None or then is None:
            continue
        same = judged.recommendation == after[lot].recommendation
        if same and _written(now) == _written(then):
            continue
        rows.append(
            {
                "lot": lot_address(lot),
                "value now": _written(now),
                "value then": _written(then),
                "recommendation now": judged.recommendation,
                "recommendation then": after[lot].recommendation,
                "why": after[lot].sentence,
            }
        )
    columns = [
        *("lot", "value now", "value then", "recommendation now", "recommendation then", "why"),
    ]
    return pd.DataFrame(rows, columns=columns)


def _mean(judged: LotVerdict, characteristic: str) -> LotMean | None:
    return next(
        (one.mean for one in judged.lines if one.line.characteristic == characteristic), None
    )


def _written(mean: LotMean) -> str:
    return written(mean.value, uncertainty=mean.uncertainty_in_unit, unit=mean.unit)
