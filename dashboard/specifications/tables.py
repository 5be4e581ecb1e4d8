"""A specification as people read it: its lines, and its versions."""

from collections.abc import Sequence

import pandas as pd

from dashboard.frame.approval_words import approved
from spc.acceptance import Line, Specification
from spc.digits import THIN
from spc.store.catalogue.approvals import Approval


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


def versions_table(
    versions: Sequence[Specification], approvals: Sequence[Approval]
) -> pd.DataFrame:
    """Approved versions of a specification, newest first."""
    by_version = {one.version: one for one in approvals}
    return pd.DataFrame(
        [
            {
                "version": one.version,
                "in force from": one.effective_from,
                "approval": approved(by_version[one.version]),
                "reason": one.reason,
                "lines": len(one.lines),
            }
            for one in sorted(versions, key=lambda one: -one.version)
        ]
    )


def _limits(line: Line) -> str:
    """The limits and the target exactly as they were approved."""
    parts = (("min", line.lower), ("max", line.upper), ("target", line.target))
    parts_said = [
        f"{name} {value:,.10g}".replace(",", THIN) for name, value in parts if value is not None
    ]
    return f"{', '.join(parts_said)} {line.unit}" if parts_said else line.unit


def _plan(line: Line) -> str:
    parts = (("n", line.plan_n), ("k", line.plan_k), ("c", line.plan_c))
    return ", ".join(f"{name} = {value:g}" for name, value in parts if value is not None)
