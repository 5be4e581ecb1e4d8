"""How many increments to draw from a lot, from which packages, and what they can tell."""

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.acceptance.plans.bulk import BulkPlan
from spc.acceptance.plans.mycotoxins import SUB_LOT_FROM_T, MycotoxinRow, mycotoxin_row, sub_lots
from spc.acceptance.plans.sampling_advice import Convention, Form, Packing, SamplingAdvice
from spc.acceptance.plans.variables import VariablesPlan
from spc.errors import InvalidInput

# The European Spice Association's routine sampling stops here; arbitration does not.
ROUTINE_CAP: Final = 10


def increments(
    *,
    lot_kg: float,
    form: Form = "powder",
    packages: int | None = None,
    package_kg: float | None = None,
    convention: Convention = "EU mycotoxins",
    plan: VariablesPlan | BulkPlan | None = None,
) -> SamplingAdvice:
    """How many increments a lot needs by a convention.

    Parameters
    ----------
    lot_kg
        Net mass of the lot.
    form
        Whole and flaked spices have another EU table than powders.
    packages, package_kg
        Number and net mass of packages; None where not known.
    convention
        By which to sample.
    plan
        For the conventions that follow a plan.

    Returns
    -------
    SamplingAdvice

    Raises
    ------
    InvalidInput
        If masses or numbers are not possible or contradict each other, the convention is
        unknown, or it lacks its plan or the number of packages.

    References
    ----------
    Regulation (EU) 2023/2782, Annex I, parts E and M.  European Spice Association: square root.
    """
    packing = Packing(lot_kg=lot_kg, packages=packages, package_kg=package_kg)
    if convention == "EU mycotoxins":
        return _mycotoxins(packing, mycotoxin_row(lot_kg / 1000.0, form))
    if convention in ("square root", "square root, arbitration"):
        return _square_root(packing, convention)
    if convention == "variables plan" and isinstance(plan, VariablesPlan):
        return _units(packing, plan)
    if convention == "bulk plan" and isinstance(plan, BulkPlan):
        return _bulk(packing, plan)
    raise InvalidInput(
        f"sampling by {convention!r} with {type(plan).__name__} is not possible.",
        where="sampling helper",
        remedy="Choose a known convention, and give the plan it follows.",
    )


def chosen_packages(
    packages: int, count: int, *, generator: np.random.Generator
) -> NDArray[np.int64]:
    """Packages to open, chosen at random without replacement.

    Parameters
    ----------
    packages
        In the lot, numbered from 1.
    count
        To be opened.
    generator
        Source of randomness; record its seed with the sample.

    Returns
    -------
    array of shape (count,)
        Rising package numbers, every set of `count` being equally likely.

    Raises
    ------
    InvalidInput
        If `count` is not between 1 and `packages`.

    References
    ----------
    ISO 24153, random sampling and randomization procedures.
    """
    if not 1 <= count <= packages:
        raise InvalidInput(
            f"{count} of {packages} packages cannot be chosen.",
            where="sampling helper",
            remedy="Choose at least one and at most all of them.",
        )
    chosen = generator.choice(packages, size=count, replace=False) + 1
    return np.sort(chosen).astype(np.int64)


def _mycotoxins(packing: Packing, row: MycotoxinRow) -> SamplingAdvice:
    parts = sub_lots(packing.lot_kg / 1000.0)
    part_kg = packing.lot_kg / parts
    nth = None
    if packing.package_kg is not None:
        frequency = part_kg * row.increment_kg / (row.aggregate_kg * packing.package_kg)
        nth = max(1, math.floor(frequency * (1.0 + 1e-12)))
    return SamplingAdvice(
        convention="EU mycotoxins",
        increments=row.increments,
        sub_lots=parts,
        increment_kg=row.increment_kg,
        aggregate_kg=row.aggregate_kg,
        every_nth=nth,
        packages_to_open=_opened(packing, row.increments * parts),
        can_tell="Whether the lot meets the EU maximum levels of mycotoxins, as official control"
        " would find it.",
        cannot_tell="The spread between packages, for all increments are mixed; and a mean within"
        " the limit does not exclude a hot spot.",
        source="Regulation (EU) 2023/2782, Annex I, part"
        f" {row.part}, as amended by (EU) 2024/885; check current law. Lots from"
        f" {SUB_LOT_FROM_T:g} t are divided into sub-lots of about 25 t.",
    )


def _square_root(packing: Packing, convention: Convention) -> SamplingAdvice:
    if packing.packages is None:
        raise InvalidInput(
            "the square root of an unknown number of packages has no value.",
            where="sampling helper",
            remedy="Give the number of packages.",
        )
    count = math.isqrt(packing.packages - 1) + 1
    if convention == "square root":
        count = min(count, ROUTINE_CAP)
    return SamplingAdvice(
        convention=convention,
        increments=count,
        sub_lots=1,
        increment_kg=None,
        aggregate_kg=None,
        every_nth=packing.packages // count,
        packages_to_open=count,
        can_tell="The mean of the lot, with an uncertainty that follows from the spread between"
        " packages and their number.",
        cannot_tell="The square root is a convention of the trade, not a plan: it has no stated"
        " risk for supplier or buyer, and protects them the less the smaller the lot is.",
        source="European Spice Association, routine sampling up to 10 packages, arbitration"
        " without a cap.",
    )


def _units(packing: Packing, plan: VariablesPlan) -> SamplingAdvice:
    _refuse_more_than_packed(packing, plan.n)
    return SamplingAdvice(
        convention="variables plan",
        increments=plan.n,
        sub_lots=1,
        increment_kg=None,
        aggregate_kg=None,
        every_nth=None if packing.packages is None else packing.packages // plan.n,
        packages_to_open=_opened(packing, plan.n),
        can_tell="The share of packages outside the limits, with the stated risks, if every"
        " increment is measured on its own.",
        cannot_tell="Nothing of the spread if increments are mixed before they are measured; and"
        " no risk holds where values are far from normal or measured with a large error.",
        source=f"Variables plan, n = {plan.n}, k = {plan.k:.4g}.",
    )


def _bulk(packing: Packing, plan: BulkPlan) -> SamplingAdvice:
    return SamplingAdvice(
        convention="bulk plan",
        increments=plan.increments,
        sub_lots=1,
        increment_kg=None,
        aggregate_kg=None,
        every_nth=None if packing.packages is None else max(1, packing.packages // plan.increments),
        packages_to_open=_opened(packing, plan.increments),
        can_tell="Whether the mean of the lot is acceptable, with the stated risks.",
        cannot_tell="Whether every package is, for the increments are mixed; and the risks hold"
        " only while the components of variance are those the plan was made for.",
        source=f"Bulk plan after ISO 10725: {plan.increments} increments, {plan.portions} portions,"
        f" {plan.tests} tests of each.",
    )


def _opened(packing: Packing, wanted: int) -> int | None:
    return None if packing.packages is None else min(wanted, packing.packages)


def _refuse_more_than_packed(packing: Packing, wanted: int) -> None:
    if packing.packages is not None and packing.packages < wanted:
        raise InvalidInput(
            f"the plan measures {wanted} packages, but the lot has {packing.packages}.",
            where="sampling helper",
            remedy="Measure every package, or choose a plan for smaller samples.",
        )
