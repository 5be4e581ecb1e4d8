"""Repeatability from routine: where the spread of readings sits, and whether it is as stated."""

from dataclasses import replace

import streamlit as st

from dashboard.frame import listing
from dashboard.frame.escaping import marked
from dashboard.methods import adopting, known, materials, pictures
from dashboard.methods.tables.precision import spread_frame, spread_table
from dashboard.methods.words import precision
from spc.answers import adoptions
from spc.answers.method_spread import READING, stated_spread, usual_level
from spc.compare.spread.variance_components import Components
from spc.errors import LotHeatError
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def section(store: Store, stated: MeasuringMethod) -> None:
    """The spread level by level for one material, and the stated repeatability beside it."""
    material = materials.chosen(stated)
    if material is None:
        return
    try:
        found = known.spread(stated, material)
        found.sd_of(READING)
    except LotHeatError as problem:
        st.info(marked(f"Repeatability cannot be told from routine: {problem}"))
        return
    _show(store, found, stated, material)


def _show(store: Store, found: Components, stated: MeasuringMethod, material: str) -> None:
    scale = known.scale_of(stated)
    unit, log = scale.unit, scale.log
    level = usual_level(known.readings(stated), material)
    stated_sd = stated_spread(stated, stated.repeatability, log=log, level=level)
    said = precision.spread(found, of=f"of {material}", log=log, unit=unit)
    st.markdown(
        marked(f"**{said}** {precision.against_stated(found, stated_sd, log=log, unit=unit)}")
    )
    pictures.spread_parts(spread_frame(found, stated_sd=stated_sd, log=log, unit=unit), share=log)
    listing.table(spread_table(found, log=log, unit=unit), name=f"spread-{material}")
    st.caption(precision.HOW_SPREAD)
    if precision.differs(found, stated_sd):
        size = adoptions.as_stated_figure(found.sd_of(READING), stated, log=log, level=level)
        changed = replace(stated, repeatability=float(f"{size:.3g}"))
        adopting.figures(store, stated, changed, form="repeatability")
