"""A method against another one, on lots that both measured."""

import pandas as pd
import streamlit as st

from dashboard.frame import choosing, listing
from dashboard.frame.escaping import marked
from dashboard.methods import adopting, known, pictures
from dashboard.methods.tables.comparisons import differences_frame, line_frame, pairs_table
from dashboard.methods.words import comparisons, corrections
from spc.answers.method_comparisons import compare_methods, correction_from
from spc.compare.between_methods.corrections import Correction
from spc.compare.between_methods.method_comparison import Kind, MethodComparison
from spc.compare.between_methods.warrants import warrant
from spc.errors import InvalidInput, LotHeatError
from spc.intake.methods import MeasuringMethod
from spc.store import Store

EVERY = "every material"
ANY = "every supplier"


def section(store: Store, stated: MeasuringMethod) -> None:
    """Choose the other method, the lots and the kind of comparison; picture, sentence, advice."""
    others = known.others(stated)
    if not others:
        st.markdown(
            marked(
                f"No other method of ours measures {stated.characteristic}; how far off"
                f" {stated.method} reads can be told from control samples only."
            )
        )
        return
    against = choosing.one_of("Against", others, key="against")
    pairs, lots = _chosen_lots(known.pairs(stated, against))
    kind = _kind()
    st.caption(marked(comparisons.KIND_SENTENCES[kind]))
    reference = store.catalogue().method(against, stated.characteristic)
    if reference is None or pairs.empty:
        st.markdown(
            marked(f"No lot {comparisons.whose(*lots)} has an exact value by both methods.")
        )
        return
    try:
        found = compare_methods(pairs, kind, stated, reference)
    except LotHeatError as problem:
        st.info(marked(str(problem)))
        return
    _show(pairs, found, (stated.method, against), lots)
    draft = _advice(pairs, found, stated, reference)
    if draft is not None:
        adopting.correction(store, draft, stated=stated, against=against, lots=lots)
    with st.expander("The lots measured by both"):
        table = pairs_table(pairs, method=stated.method, against=against)
        listing.table(table, name=f"{stated.method}-against-{against}".replace(" ", "-"))


def _chosen_lots(pairs: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, str]]:
    left, right = st.columns(2)
    with left:
        material = choosing.one_of("Material", [EVERY, *sorted(set(pairs["material"]))], key="of")
    if material != EVERY:
        pairs = pairs[pairs["material"] == material]
    with right:
        supplier = choosing.one_of("Supplier", [ANY, *sorted(set(pairs["supplier"]))], key="from")
    if supplier != ANY:
        pairs = pairs[pairs["supplier"] == supplier]
    lots = ("" if material == EVERY else material, "" if supplier == ANY else supplier)
    return pairs.reset_index(drop=True), lots


def _kind() -> Kind:
    kinds = list(comparisons.KINDS)
    chosen = st.segmented_control(
        "Compared by",
        kinds,
        default=kinds[0],
        format_func=comparisons.KINDS.__getitem__,
        key="kind",
        bind="query-params",
    )
    return chosen or kinds[0]


def _show(
    pairs: pd.DataFrame, found: MethodComparison, names: tuple[str, str], lots: tuple[str, str]
) -> None:
    unit, log = str(pairs["unit"].iloc[0]), bool((pairs["scale"] == "log").all())
    said = comparisons.comparison(
        found, method=names[0], against=names[1], of=comparisons.whose(*lots), unit=unit
    )
    st.markdown(marked(f"**{said}** {comparisons.proportional(found, unit=unit)}"))
    if found.kind == "differences":
        st.caption(marked(comparisons.differences_axes(*names, unit=unit, log=log)))
        pictures.differences(differences_frame(pairs, found, names), log=log)
    else:
        st.caption(marked(comparisons.line_axes(*names, found=found, unit=unit)))
        pictures.line(line_frame(pairs, found, names, log=log), log=log)
    for doubt in comparisons.doubts(found):
        st.markdown(marked(f"- {doubt}"))


def _advice(
    pairs: pd.DataFrame,
    found: MethodComparison,
    stated: MeasuringMethod,
    reference: MeasuringMethod,
) -> Correction | None:
    """Whether a correction is worth making, and the correction; None where none can follow."""
    unit = str(pairs["unit"].iloc[0])
    try:
        draft = correction_from(pairs, found, reference)
        st.markdown(marked(corrections.warrant(warrant(draft, stated.as_method()), unit=unit)))
    except InvalidInput as problem:
        st.markdown(marked(f"No correction follows: {problem.what} {problem.remedy}"))
        return None
    return draft
