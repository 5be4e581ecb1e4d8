"""Under which version of a specification a decision was signed, and when that was approved."""

import json
from dataclasses import dataclass

import pandas as pd

from spc.store import Store
from spc.store.catalogue.approvals import Approval


@dataclass(frozen=True, slots=True, kw_only=True)
class SignedVersion:
    """The version that a decision was signed under.

    Attributes
    ----------
    approval
        None if it was never approved.
    """

    material: str
    version: int
    approval: Approval | None


def signed_versions(store: Store, decisions: pd.DataFrame) -> dict[str, SignedVersion]:
    """The version that each decision was signed under, whatever judges the lot today.

    Parameters
    ----------
    store
        Is read only.
    decisions
        As `Store.dispositions` tells them.

    Returns
    -------
    dict of str to SignedVersion
        By disposition; decisions from before the record rest on no version and are left out.
    """
    found = {}
    for row in decisions.to_dict("records"):
        if not row["evidence"]:
            continue
        told = json.loads(row["evidence"])["specification"]
        found[str(row["disposition"])] = SignedVersion(
            material=told["material"],
            version=told["version"],
            approval=store.approvals.of_specification(told["material"], told["version"]),
        )
    return found
