"""How to sample a lot: how closely, by which plan, and what a plan can tell apart."""

from dataclasses import dataclass
from typing import Final

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from spc.acceptance import (
    BulkPlan,
    SamplingAdvice,
    VariablesPlan,
    bulk_plan,
    inspection_level,
    may_skip,
    variables_plan,
)
from spc.acceptance.plans.increments import increments
from spc.acceptance.plans.sampling_advice import Convention, Form
from spc.acceptance.plans.switching import Inspected, InspectionLevel, SkipAdvice
from spc.answers.specified_lines import lines_of
from spc.intake import Catalogue
from spc.store import Lot, Store
from spc.store.lots.lots import WAITING

Floats = NDArray[np.float64]

_POINTS: Final = 121
# Forms that the conventions tell apart; every other material is sampled like a powder.
_FORMS: Final[dict[str, Form]] = {"flakes": "flakes"}
# Where nothing is specified: a mean that most sauces would find too mild; common practice.
_SOMEWHERE: Final = 10_000.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Inspection:
    """How closely to look at a supplier's next lot.

    Attributes
    ----------
    level
        Normal, tightened, reduced or stopped, and why.
    skip
        Whether lots may go uninspected, and why.
    """

    level: InspectionLevel
    skip: SkipAdvice


@dataclass(frozen=True, slots=True, kw_only=True)
class MeanPlanTerms:
    """What the average of a lot must be told apart from, and what sampling costs.

    Attributes
    ----------
    accepted, rejected
        Lot means, in unit: to be accepted, and to be rejected.
    within_cv, method_cv
        Spread between increments and the method's own uncertainty, as shares of the mean.
    cost_increment, cost_test
        In one currency.
    """

    accepted: float
    rejected: float
    within_cv: float
    method_cv: float
    cost_increment: float
    cost_test: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AcceptanceCurve:
    """How likely a plan is to accept a lot, by what the lot is.

    Attributes
    ----------
    at, chance
        What the lot is, as the question was asked, and the chance of acceptance.  Shape (points,).
    made_for
        The two lots that the plan was made for: the one to be accepted first.
    """

    at: Floats
    chance: Floats
    made_for: tuple[float, float]

    @property
    def chance_made_for(self) -> tuple[float, float]:
        """Chance of acceptance of the two lots that the plan was made for."""
        good, bad = np.interp(self.made_for, self.at, self.chance)
        return float(good), float(bad)


def inspection(store: Store, lot: Lot) -> Inspection:
    """How closely to look at a lot, by how the supplier's earlier lots of this material went.

    Parameters
    ----------
    store
        Is read only.
    lot
        The delivery.

    Returns
    -------
    Inspection
    """
    history = inspection_history(store, lot)
    lines = lines_of(store.catalogue().specifications, lot.material)
    return Inspection(level=inspection_level(history), skip=may_skip(lines, history))


def inspection_history(store: Store, lot: Lot) -> list[Inspected]:
    """How the earlier lots of this supplier and material went, in order of receipt.

    Parameters
    ----------
    store
        Is read only.
    lot
        The delivery that they came before.

    Returns
    -------
    list of Inspected
        Lots that still wait are left out.
    """
    lots = store.lots()
    mine = lots[
        (lots["material"] == lot.material)
        & (lots["supplier"] == lot.supplier)
        & (lots["received_at"] < pd.Timestamp(lot.received_at))
        & ~lots["decision"].isin(WAITING)
    ]
    return ["accepted" if one == "accepted" else "rejected" for one in mine["decision"]]


def sampling_of_lot(
    catalogue: Catalogue,
    lot: Lot,
    convention: Convention,
    plan: VariablesPlan | BulkPlan | None = None,
) -> SamplingAdvice:
    """How many increments a lot needs by a convention, as it is packed.

    Parameters
    ----------
    catalogue
        The store's, which knows the form of the material.
    lot
        The delivery.
    convention
        By which it is sampled.
    plan
        That the convention follows, where it follows one.

    Returns
    -------
    SamplingAdvice

    Raises
    ------
    LotHeatError
        If the convention says nothing of such a lot.
    """
    material = next(one for one in catalogue.materials if one.material == lot.material)
    return increments(
        lot_kg=(lot.packages or 0) * (lot.package_kg or 0.0),
        form=_FORMS.get(material.form, "powder"),
        packages=lot.packages,
        package_kg=lot.package_kg,
        convention=convention,
        plan=plan,
    )


def heats_to_tell_apart(catalogue: Catalogue, material: str) -> tuple[float, float]:
    """Heat to accept and to reject: the target and the lower limit, where they are specified.

    Parameters
    ----------
    catalogue
        The store's.
    material
        Of the lot.

    Returns
    -------
    tuple of float
        In SHU.
    """
    lines = [one for one in lines_of(catalogue.specifications, material) if one.unit == "SHU"]
    lower = lines[0].lower if lines else None
    target = lines[0].target if lines else None
    rejected = lower or _SOMEWHERE
    return target or 1.2 * rejected, rejected


def plan_by_share(*, aql_pct: float, rql_pct: float) -> VariablesPlan:
    """The smallest variables plan for two shares outside the limits.

    Parameters
    ----------
    aql_pct, rql_pct
        Share that is still good, and share that must be found, in per cent.

    Returns
    -------
    VariablesPlan

    Raises
    ------
    InvalidInput
        If the first is not below the second.
    """
    return variables_plan(aql=aql_pct / 100.0, rql=rql_pct / 100.0)


def plan_by_mean(terms: MeanPlanTerms) -> BulkPlan:
    """The cheapest plan for the average of a lot, on log scale, where spreads are shares.

    Parameters
    ----------
    terms
        What must be told apart, and what it costs.

    Returns
    -------
    BulkPlan

    Raises
    ------
    InvalidInput
        If the two means cannot be told apart.
    """
    return bulk_plan(
        between_increments=terms.within_cv,
        between_portions=terms.method_cv / 2.0,
        measurement=terms.method_cv / 2.0,
        cost_increment=terms.cost_increment,
        cost_test=terms.cost_test,
        accepted_mean=float(np.log(terms.accepted)),
        rejected_mean=float(np.log(terms.rejected)),
    )


def curve_of_shares(plan: VariablesPlan, *, aql_pct: float, rql_pct: float) -> AcceptanceCurve:
    """Chance of acceptance by the share of the lot outside the limits, in per cent.

    Parameters
    ----------
    plan
        From `plan_by_share`.
    aql_pct, rql_pct
        What it was made for.

    Returns
    -------
    AcceptanceCurve
    """
    share = np.linspace(0.05, 2.0 * rql_pct, _POINTS)
    chance = np.asarray(plan.acceptance_probability(share / 100.0))
    return AcceptanceCurve(at=share, chance=chance, made_for=(aql_pct, rql_pct))


def curve_of_means(plan: BulkPlan, terms: MeanPlanTerms) -> AcceptanceCurve:
    """Chance of acceptance by the lot's true mean, in unit.

    Parameters
    ----------
    plan
        From `plan_by_mean`.
    terms
        What it was made for.

    Returns
    -------
    AcceptanceCurve
    """
    low, high = sorted((terms.accepted, terms.rejected))
    room = high - low
    mean = np.linspace(max(low - room, low / 4.0), high + room, _POINTS)
    chance = np.asarray(plan.acceptance_probability(np.log(mean)))
    return AcceptanceCurve(at=mean, chance=chance, made_for=(terms.accepted, terms.rejected))
