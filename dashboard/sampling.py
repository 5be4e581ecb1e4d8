"""How to sample a lot: what each convention asks, can tell and cannot; which packages to open."""

import secrets

import streamlit as st

from dashboard import session, wording
from spc.acceptance import SamplingAdvice, inspection_level, may_skip, variables_plan
from spc.acceptance.increments import increments
from spc.acceptance.sampling_advice import Convention, Form
from spc.errors import LotHeatError
from spc.intake import Catalogue
from spc.store import Lot, Store

CONVENTIONS: tuple[Convention, ...] = (
    "EU mycotoxins",
    "square root",
    "square root, arbitration",
    "variables plan",
)
FORMS: dict[str, Form] = {"flakes": "flakes"}


def advice(store: Store, catalogue: Catalogue, lot: Lot) -> None:
    """The advice for this lot, and the draw of packages."""
    st.markdown(_level(catalogue, lot))
    if lot.packages is None or lot.package_kg is None:
        st.markdown("How the lot is packed is not known, so no sampling can be proposed.")
        return
    convention = st.selectbox("Convention", CONVENTIONS)
    try:
        told = _told(catalogue, lot, convention or CONVENTIONS[0])
    except LotHeatError as problem:
        st.info(str(problem))
        return
    st.markdown(wording.sampling(told, lot.packages))
    st.caption(f"{told.can_tell} {told.cannot_tell} ({told.source})")
    _draw(store, lot, told)


def _told(catalogue: Catalogue, lot: Lot, convention: Convention) -> SamplingAdvice:
    form = next(one.form for one in catalogue.materials if one.material == lot.material)
    plan = None
    if convention == "variables plan":
        left, right = st.columns(2)
        aql = left.number_input("Share outside that is still good (%)", 0.1, 20.0, 2.5)
        rql = right.number_input("Share outside that must be found (%)", 0.5, 60.0, 15.0)
        plan = variables_plan(aql=aql / 100.0, rql=rql / 100.0)
    return increments(
        lot_kg=(lot.packages or 0) * (lot.package_kg or 0.0),
        form=FORMS.get(form, "powder"),
        packages=lot.packages,
        package_kg=lot.package_kg,
        convention=convention,
        plan=plan,
    )


def _level(catalogue: Catalogue, lot: Lot) -> str:
    """Inspection level and skip-lot by the supplier's lots of this material."""
    history = session.inspected(lot)
    versions = [one for one in catalogue.specifications if one.material == lot.material]
    lines = max(versions, key=lambda one: one.version).lines if versions else ()
    level, skip = inspection_level(history), may_skip(lines, history)
    return f"Inspection is {level.level}: {level.reason} {skip.reason}"


def _draw(store: Store, lot: Lot, told: SamplingAdvice) -> None:
    for past in store.draws(lot.lot):
        st.markdown(wording.drawn(past))
    count = told.packages_to_open
    if count is None:
        return
    name, _ = session.who()
    with st.form("draw"):
        by = st.text_input("Your name", value=name)
        signed = st.form_submit_button(f"Draw {count} of {lot.packages} packages at random")
    if signed:
        seed = secrets.randbelow(2**31)
        try:
            store.draw(lot.lot, count=count, seed=seed, convention=told.convention, by=by)
        except LotHeatError as problem:
            st.error(str(problem))
            return
        session.tell("The packages are drawn and recorded.")
        st.rerun()
