"""Between laboratories: repeatability and reproducibility, who stands out, and who is left out."""

import pandas as pd
import streamlit as st

from dashboard.frame import listing
from dashboard.frame.escaping import marked
from dashboard.methods import adopting, known, pictures
from dashboard.methods.tables.precision import cells_table, consistency_frame, study_table
from dashboard.methods.words import precision
from spc.answers import adoptions
from spc.answers.method_spread import laboratories_study
from spc.compare.studies.method_figures import method_figures
from spc.compare.studies.precision_study import Repeatability
from spc.compare.studies.study_cells import LeftOut
from spc.errors import InvalidInput
from spc.intake.methods import MeasuringMethod
from spc.store import Store

ALL = "all samples"


def section(store: Store, stated: MeasuringMethod) -> None:
    """Precision in words, consistency in two pictures, findings, tables, and adopting."""
    readings = known.compared_laboratories(stated)
    if readings.empty:
        st.markdown(precision.NO_STUDY)
        return
    place = st.container()
    left_out = _left_out(readings)
    with place:
        try:
            found = laboratories_study(readings, left_out)
        except InvalidInput as problem:
            st.info(marked(str(problem)))
            return
        _show(found, known.scale_of(stated).unit)
    _adopt(store, stated, found)


def _show(found: Repeatability, unit: str) -> None:
    st.markdown(marked(f"**{precision.study(found, unit=unit)}**"))
    for sentence in (*precision.suspects(found), *precision.left_out(found)):
        st.markdown(marked(f"- {sentence}"))
    for signed, words in ((True, precision.H_WORDS), (False, precision.K_WORDS)):
        st.caption(marked(words))
        frame = consistency_frame(found, signed=signed)
        pictures.consistency(frame, signed=signed, key=f"consistency-{signed}")
    listing.table(study_table(found, unit=unit), name="between-laboratories")
    st.caption(precision.HOW_STUDY)
    with st.expander("Every laboratory at every sample"):
        listing.table(cells_table(found, unit=unit), name="laboratories")


def _left_out(readings: pd.DataFrame) -> tuple[LeftOut, ...]:
    """What the person looking leaves out, for now and with a reason."""
    with st.expander("Leave a laboratory out"):
        left, right = st.columns(2)
        chosen = left.multiselect("Laboratories", sorted(set(readings["laboratory"])))
        level = right.selectbox("At", [ALL, *dict.fromkeys(readings["level"])])
        reason = st.text_input("Why they are left out")
        if chosen and not reason.strip():
            st.warning("Nobody is left out without a reason.")
    if not reason.strip():
        return ()
    return tuple(
        LeftOut(laboratory=one, reason=reason.strip(), level=None if level == ALL else level)
        for one in chosen
    )


def _adopt(store: Store, stated: MeasuringMethod, found: Repeatability) -> None:
    """The study's figures as the method's next version."""
    try:
        relative = stated.uncertainty_kind == "relative"
        figures = method_figures(found, kind="share" if relative else "unit")
    except InvalidInput as problem:
        st.markdown(marked(f"Nothing can be adopted from it: {problem.what} {problem.remedy}"))
        return
    changed = adoptions.with_precision(stated, figures)
    if changed == stated:
        st.markdown("The method already states these figures.")
        return
    st.markdown(marked(precision.figures_of_study(figures)))
    notes = precision.left_out(found)
    adopting.figures(store, stated, changed, form="reproducibility", notes=notes)
