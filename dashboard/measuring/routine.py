"""Repeatability from routine: where the spread of readings sits, and whether it is as stated."""

from dataclasses import replace

import streamlit as st

from dashboard import adoptions, choosing
from dashboard.measuring import adopting, known, listing, pictures
from dashboard.tables import precision as tabled
from dashboard.wording import precision as worded
from spc.compare.variance_components import Components
from spc.errors import LotHeatError
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def section(store: Store, stated: MeasuringMethod) -> None:
    """The spread level by level for one material, and the stated repeatability beside it."""
    readings = known.readings(stated)
    if readings.empty:
        st.markdown(f"No exact reading by {stated.method} is on record yet.")
        return
    most = str(readings["material"].mode().iloc[0])
    material = choosing.one_of("Material", sorted(set(readings["material"])), key="of", first=most)
    try:
        found = known.spread(stated, material)
        found.sd_of(worded.READING)
    except LotHeatError as problem:
        st.info(f"Repeatability cannot be told from routine: {problem}")
        return
    _show(store, found, stated, material)


def _show(store: Store, found: Components, stated: MeasuringMethod, material: str) -> None:
    unit, log = known.scale_of(stated)
    readings = known.readings(stated)
    level = float(readings.loc[readings["material"] == material, "value"].median())
    stated_sd = stated.as_method().on_scale(
        stated.repeatability, scale="log" if log else "linear", at=level
    )
    said = worded.spread(found, of=f"of {material}", log=log, unit=unit)
    st.markdown(f"**{said}** {worded.against_stated(found, stated_sd, log=log, unit=unit)}")
    pictures.spread_parts(
        tabled.spread_frame(found, stated_sd=stated_sd, log=log, unit=unit), share=log
    )
    listing.table(tabled.spread_table(found, log=log, unit=unit), name=f"spread-{material}")
    st.caption(worded.HOW_SPREAD)
    if worded.differs(found, stated_sd):
        size = adoptions.as_figure(found.sd_of(worded.READING), stated, log=log, level=level)
        changed = replace(stated, repeatability=float(f"{size:.3g}"))
        adopting.figures(store, stated, changed, form="repeatability")
