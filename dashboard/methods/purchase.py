"""What the next euro should buy: computed from the spreads found and the prices given."""

import streamlit as st

from dashboard.frame import listing
from dashboard.frame.escaping import marked
from dashboard.frame.numbers import number_field
from dashboard.methods import known, materials
from dashboard.methods.tables.purchase import parts_table, purchase_table
from dashboard.methods.words import purchase
from spc.answers.method_spread import usual_sampling
from spc.compare.spread.cheapest_design import cheapest_design
from spc.compare.spread.purchase import next_purchase
from spc.compare.spread.sampling_spread import Prices, SamplingDesign, SamplingSpread
from spc.errors import LotHeatError
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def section(store: Store, stated: MeasuringMethod) -> None:  # noqa: ARG001 - asked like every section
    """Present numbers and prices in; options, best first, and the cheapest design out."""
    material = materials.chosen(stated)
    if material is None:
        return
    scale = known.scale_of(stated)
    unit, log = scale.unit, scale.log
    parts = known.sampling_parts(stated, material)
    spread = parts.spread
    answer = st.container()
    now, prices = _asked(usual_sampling(known.readings(stated), material))
    try:
        found = next_purchase(spread, prices, now)
    except LotHeatError as problem:
        answer.info(marked(str(problem)))
        return
    with answer:
        st.markdown(marked(f"**{purchase.purchase(found, log=log, unit=unit)}**"))
        st.caption(
            marked(purchase.spread_for(spread, log=log, unit=unit, stated_only=parts.planned))
        )
    listing.table(purchase_table(found, log=log, unit=unit), name="next-purchase")
    _cheapest(spread, prices, found.uncertainty, log=log, unit=unit)
    with st.expander("Where the uncertainty comes from now"):
        listing.table(parts_table(found, log=log, unit=unit), name="uncertainty-parts")


def _asked(usual: SamplingDesign) -> tuple[SamplingDesign, Prices]:
    """How lots are sampled now, and what each part costs."""
    numbers = st.columns(3)
    bags, tests, sites = (
        int(number_field(place, label, value, least=1, most=10_000, whole=True))
        for place, label, value in zip(
            numbers,
            ("Bags now", "Tests of each bag now", "Laboratories now"),
            (usual.bags, usual.tests, usual.laboratories),
            strict=True,
        )
    )
    money = st.columns(3)
    bag, test, laboratory = (
        number_field(place, label, value, least=least, most=1e6)
        for place, label, least, value in zip(
            money,
            ("Price of a bag (€)", "Price of a test (€)", "Price of a laboratory (€)"),
            (0.0, 0.01, 0.0),
            (4.0, 9.0, 60.0),
            strict=True,
        )
    )
    return (
        SamplingDesign(bags=bags, tests=tests, laboratories=sites),
        Prices(bag=bag, test=test, laboratory=laboratory),
    )


def _cheapest(spread: SamplingSpread, prices: Prices, now: float, *, log: bool, unit: str) -> None:
    st.subheader("The cheapest way to a wanted uncertainty")
    label = "Wanted standard uncertainty (%)" if log else f"Wanted standard uncertainty ({unit})"
    # A tenth less than now is a wish that shows something.
    start = float(f"{0.9 * now * (100.0 if log else 1.0):.2g}")
    wanted = number_field(st, label, start, least=0.0, most=1e9)
    share = wanted / 100.0 if log else wanted
    try:
        found = cheapest_design(spread, prices, wanted=share)
    except LotHeatError as problem:
        st.info(marked(str(problem)))
        return
    st.markdown(marked(purchase.cheapest(found, share, log=log, unit=unit)))
