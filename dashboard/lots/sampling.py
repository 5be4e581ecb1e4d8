"""How to sample a lot: what each convention asks, can tell and cannot; which packages to open."""

import secrets

import streamlit as st

from dashboard.frame.changing import done
from dashboard.frame.escaping import marked
from dashboard.frame.numbers import number_field
from dashboard.gate import present
from dashboard.lots import pictures, words
from spc.acceptance import BulkPlan, SamplingAdvice, VariablesPlan
from spc.acceptance.plans.sampling_advice import Convention
from spc.answers import sampling
from spc.errors import LotHeatError
from spc.intake import Catalogue
from spc.intake.materials import Material
from spc.store import Lot, Store

CONVENTIONS: tuple[Convention, ...] = (
    "EU mycotoxins",
    "square root",
    "square root, arbitration",
    "variables plan",
    "bulk plan",
)


def advice(store: Store, catalogue: Catalogue, lot: Lot) -> None:
    """The advice for this lot, and the draw of packages."""
    inspected = sampling.inspection(store, lot)
    st.markdown(marked(words.inspection(inspected.level, inspected.skip)))
    if lot.packages is None or lot.package_kg is None:
        st.markdown("How the lot is packed is not known, so no sampling can be proposed.")
        return
    convention = st.selectbox("Convention", CONVENTIONS)
    try:
        told = _advice(catalogue, lot, convention or CONVENTIONS[0])
    except LotHeatError as problem:
        st.info(marked(str(problem)))
        return
    st.markdown(marked(words.sampling(told, lot.packages)))
    st.caption(marked(f"{told.can_tell} {told.cannot_tell} ({told.source})"))
    _draw(store, lot, told)


def _advice(catalogue: Catalogue, lot: Lot, convention: Convention) -> SamplingAdvice:
    material = next(one for one in catalogue.materials if one.material == lot.material)
    heat = sampling.heats_to_tell_apart(catalogue, lot.material)
    plan = _plan(convention, material, heat)
    return sampling.sampling_of_lot(catalogue, lot, convention, plan)


def _plan(
    convention: Convention, material: Material, heat: tuple[float, float]
) -> VariablesPlan | BulkPlan | None:
    """The plan that a convention follows, with its curve."""
    if convention == "variables plan":
        left, right = st.columns(2)
        aql = number_field(left, "Share outside that is still good (%)", 2.5, least=0.1, most=20.0)
        rql = number_field(
            right, "Share outside that must be found (%)", 15.0, least=0.5, most=60.0
        )
        plan = sampling.plan_by_share(aql_pct=aql, rql_pct=rql)
        st.markdown(marked(words.plan_sentence(plan)))
        curve = sampling.curve_of_shares(plan, aql_pct=aql, rql_pct=rql)
        pictures.acceptance_curve(curve, title="share of the lot outside the limits (%)")
        return plan
    if convention == "bulk plan":
        terms = _terms(material, heat)
        bulk = sampling.plan_by_mean(terms)
        st.markdown(marked(words.plan_sentence(bulk)))
        pictures.acceptance_curve(
            sampling.curve_of_means(bulk, terms), title="true mean of the lot (SHU)"
        )
        return bulk
    return None


def _terms(material: Material, heat: tuple[float, float]) -> sampling.MeanPlanTerms:
    left, middle, right = st.columns(3)
    within = 100.0 * (material.within_lot_cv or 0.06)
    return sampling.MeanPlanTerms(
        accepted=number_field(left, "Mean to be accepted (SHU)", heat[0], least=10.0, most=1e7),
        rejected=number_field(left, "Mean to be rejected (SHU)", heat[1], least=10.0, most=1e7),
        within_cv=number_field(middle, "Bag to bag (%)", within, least=0.5, most=60.0) / 100.0,
        method_cv=number_field(middle, "One test (%)", 5.0, least=0.5, most=40.0) / 100.0,
        cost_increment=number_field(right, "Cost of an increment", 2.0, least=0.1, most=1000.0),
        cost_test=number_field(right, "Cost of a test", 15.0, least=0.1, most=5000.0),
    )


def _draw(store: Store, lot: Lot, told: SamplingAdvice) -> None:
    for past in store.draws(lot.lot):
        st.markdown(marked(words.drawn(past)))
    count = told.packages_to_open
    if count is None:
        return
    with st.form("draw"):
        signed = st.form_submit_button(f"Draw {count} of {lot.packages} packages at random")
    if signed:
        seed = secrets.randbelow(2**31)
        done(
            lambda: store.draw(
                lot.lot, count=count, seed=seed, convention=told.convention, by=present.proof()
            ),
            lambda _: "The packages are drawn and recorded.",
        )
