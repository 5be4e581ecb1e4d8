"""What the next euro should buy: computed from the spreads found and the prices given."""

from dataclasses import replace

import streamlit as st

from dashboard.frame import choosing
from dashboard.methods import known, laboratories, listing
from dashboard.methods.tables import precision
from dashboard.methods.words import precision as words_precision
from spc.answers import adoptions
from spc.compare.spread.cheapest_design import cheapest_design
from spc.compare.spread.purchase import next_purchase
from spc.compare.spread.sampling_spread import (
    Prices,
    SamplingDesign,
    SamplingSpread,
    sampling_spread,
)
from spc.compare.studies.method_figures import method_figures
from spc.errors import LotHeatError
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def section(store: Store, stated: MeasuringMethod) -> None:
    """Present numbers and prices in; options, best first, and the cheapest design out."""
    readings = known.readings(stated)
    if readings.empty:
        st.markdown(f"No exact reading by {stated.method} is on record yet.")
        return
    most = str(readings["material"].mode().iloc[0])
    material = choosing.one_of("Material", sorted(set(readings["material"])), key="of", first=most)
    unit, log = known.scale_of(stated)
    level = float(readings.loc[readings["material"] == material, "value"].median())
    spread, stated_only = _spread(store, stated, material, level=level)
    answer = st.container()
    now, prices = _asked(known.usual_numbers(stated, material))
    try:
        found = next_purchase(spread, prices, now)
    except LotHeatError as problem:
        answer.info(str(problem))
        return
    with answer:
        st.markdown(f"**{words_precision.purchase(found, log=log, unit=unit)}**")
        st.caption(words_precision.spread_for(spread, log=log, unit=unit, stated_only=stated_only))
    listing.table(precision.purchase_table(found, log=log, unit=unit), name="next-purchase")
    _cheapest(spread, prices, found.uncertainty, log=log, unit=unit)
    with st.expander("Where the uncertainty comes from now"):
        listing.table(precision.parts_table(found, log=log, unit=unit), name="uncertainty-parts")


def _asked(usual: tuple[int, int]) -> tuple[SamplingDesign, Prices]:
    """How lots are sampled now, and what each part costs."""
    numbers = st.columns(3)
    bags, tests, sites = (
        int(place.number_input(label, min_value=1, value=value, step=1))
        for place, label, value in zip(
            numbers,
            ("Bags now", "Tests of each bag now", "Laboratories now"),
            (*usual, 1),
            strict=True,
        )
    )
    money = st.columns(3)
    bag, test, laboratory = (
        float(place.number_input(label, min_value=least, value=value))
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
    wanted = st.number_input(label, min_value=0.0, value=start, format="%.3g")
    share = float(wanted) / 100.0 if log else float(wanted)
    try:
        found = cheapest_design(spread, prices, wanted=share)
    except LotHeatError as problem:
        st.info(str(problem))
        return
    st.markdown(words_precision.cheapest(found, share, log=log, unit=unit))


def _spread(
    store: Store, stated: MeasuringMethod, material: str, *, level: float
) -> tuple[SamplingSpread, bool]:
    """Spreads found in routine; planning values where routine cannot tell them apart."""
    _, log = known.scale_of(stated)
    between = _between_laboratories(stated, log=log)
    own = stated.as_method().on_scale(
        stated.standard_uncertainty, scale="log" if log else "linear", at=level
    )
    rest = adoptions.without(own, between)
    try:
        found = sampling_spread(
            known.spread(stated, material), bag="bag", test=words_precision.READING, method=rest
        )
    except LotHeatError:
        cvs = {one.material: one.within_lot_cv for one in store.catalogue().materials}
        test = stated.as_method().on_scale(
            stated.repeatability, scale="log" if log else "linear", at=level
        )
        planned = (cvs[material] or 0.0) * (1.0 if log else level)
        return SamplingSpread(bag=planned, test=test, laboratory=between, method=rest), True
    return replace(found, laboratory=between), False


def _between_laboratories(stated: MeasuringMethod, *, log: bool) -> float:
    """Standard deviation between laboratories, if a comparison tells it; else zero."""
    readings = known.compared_laboratories(stated)
    if readings.empty:
        return 0.0
    found = laboratories.study(readings, ())
    return method_figures(found, kind="share" if log else "unit").standard_uncertainty
