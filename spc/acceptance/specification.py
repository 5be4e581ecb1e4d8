"""What a material must be: the requirements that a lot is judged against."""

from dataclasses import dataclass
from typing import Literal

Requirement = Literal["average", "absent"]
Scale = Literal["log", "linear"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One requirement on one characteristic.

    Attributes
    ----------
    characteristic, unit, scale
        What is limited, in which unit, and whether it is judged in logarithms.
    requirement
        ``"average"``: the lot mean lies within the limits.  ``"absent"``: any detection fails.
    lower, upper, target
        In `unit`; None where there is none.
    basis
        ``"as-is"``, ``"dry"``, or empty where water does not matter.
    consumer_risk
        Highest accepted chance that a line called conforming is not.
    producer_risk
        Highest accepted chance that a line called not conforming is conforming after all.
    safety
        Never conceded, never decided by a screening method, never blended away.
    reference_method_only
        Screening methods do not decide it.
    source
        Where the limits come from, with a date.
    """

    characteristic: str
    unit: str
    scale: Scale
    requirement: Requirement = "average"
    lower: float | None = None
    upper: float | None = None
    target: float | None = None
    basis: str = ""
    consumer_risk: float = 0.05
    producer_risk: float = 0.05
    safety: bool = False
    reference_method_only: bool = False
    source: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Specification:
    """The requirements on one material, as one approved version states them.

    Attributes
    ----------
    effective_from
        ISO date from which lots received are judged by this version.
    hold_on
        Names of the flags that turn an acceptance of this material into a hold.
    """

    material: str
    version: int
    effective_from: str
    approved_by: str
    reason: str
    lines: tuple[Line, ...]
    hold_on: tuple[str, ...] = ("possible slip",)
