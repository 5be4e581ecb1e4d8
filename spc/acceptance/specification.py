"""What a material must be: the requirements that a lot is judged against."""

from dataclasses import dataclass
from typing import Literal

Requirement = Literal["average", "proportion", "count", "absent"]
Rule = Literal["two risks", "simple acceptance", "guarded acceptance", "guarded rejection"]
Scale = Literal["log", "linear"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One requirement on one characteristic.

    Attributes
    ----------
    characteristic, unit, scale
        What is limited, in which unit, and whether it is judged in logarithms.
    requirement
        ``"average"``: the lot mean lies within the limits.  ``"proportion"``: few samples of the
        lot lie outside, by a variables plan of `plan_n` and `plan_k`.  ``"count"``: at most
        `plan_c` of `plan_n` samples lie outside.  ``"absent"``: any detection fails.
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
    rule
        How an average with its uncertainty is held against the limits; a plan or a detection
        needs none.
    plan_n, plan_k, plan_c
        Number of samples, acceptance constant and acceptance number of the plan; None where
        `requirement` asks for none.
    each_sample
        Whether an average line may not hide a sample that lies outside the limits.
    jurisdiction
        Whose law the limits follow, in words; empty for a house limit.
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
    rule: Rule = "two risks"
    plan_n: int | None = None
    plan_k: float | None = None
    plan_c: int | None = None
    each_sample: bool = False
    jurisdiction: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Specification:
    """The requirements on one material, as one approved version states them.

    Attributes
    ----------
    version
        Counts from 1; 0 of a specification that nobody has approved yet.
    effective_from
        ISO date from which lots received are judged by this version.
    approved_by
        Who approved it; of a proposal, whom it names.
    hold_on
        Names of the flags that turn an acceptance of this material into a hold.
    due_days
        Days after receipt within which results are due; None where nobody is pressed.
    valid_days
        Days for which a result says what the lot is; None where it does not age.
    plausible_moisture
        Lowest and highest moisture, g/100 g, that a lot of this material can have; None where
        none is known.
    """

    material: str
    version: int
    effective_from: str
    approved_by: str = ""
    reason: str
    lines: tuple[Line, ...]
    hold_on: tuple[str, ...] = ("possible slip",)
    due_days: int | None = None
    valid_days: int | None = None
    plausible_moisture: tuple[float, float] | None = None
