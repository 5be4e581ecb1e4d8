"""Control samples: what each sensor batch read of them, and the lots measured beside it."""

import streamlit as st

from dashboard.frame import listing, origins
from dashboard.frame.escaping import marked
from dashboard.methods import blocks, known, pictures
from dashboard.methods.tables.control_samples import (
    batches_frame,
    batches_table,
    measured_with_table,
    shared_axes,
)
from dashboard.methods.words import controls
from spc.charts import RULES
from spc.compare.between_methods.control_sample import CONTROL_RULES
from spc.intake.methods import MeasuringMethod
from spc.store import Store
from spc.store.lots.controls import ControlStream


def section(store: Store, stated: MeasuringMethod) -> None:
    """A picture for each instrument, what signals in words, and the lots of a batch."""
    streams = known.controls(stated)
    if not streams:
        st.markdown(controls.NO_CONTROL)
        return
    for text in dict.fromkeys(controls.assigned(one.control, one.unit) for one in streams):
        st.caption(marked(text))
    shared = shared_axes(streams)
    for number, stream in enumerate(streams):
        st.markdown(marked(controls.control(stream)))
        if stream.judged is not None:
            frame = batches_frame(stream, shared)
            pictures.batches(frame, share=stream.scale == "log", key=f"batches-{number}")
    st.subheader("The lots measured beside them")
    _lots(store, streams)
    with st.expander("Every sensor batch, and how it is judged"):
        listing.table(batches_table(streams), name="control-samples")
        st.markdown(controls.HOW_CONTROLS)
        for rule in CONTROL_RULES:
            st.markdown(marked(f"- {RULES[rule].sentence} ({RULES[rule].source})"))


def _lots(store: Store, streams: list[ControlStream]) -> None:
    """The lots with a reading by the batch chosen; those that are off come first."""
    choices = {
        f"{batch} on {stream.instrument}{word}": (stream, batch)
        for stream, batch, word in controls.batches_by_concern(streams)
    }
    chosen = st.selectbox("Sensor batch", list(choices), key="batch", bind="query-params")
    stream, batch = choices.get(chosen or "") or next(iter(choices.values()))
    table = measured_with_table(known.results(), store.lots(), stream, batch)
    decided = int((table["decision"] != "waiting").sum())
    st.markdown(marked(controls.measured_with(stream, batch, len(table), decided)))
    if not table.empty:
        listing.table(table, name=f"lots-measured-with-{batch}")
        st.html(blocks.what_hangs_on(batch))
    _reading(store, stream, batch)


def _reading(store: Store, stream: ControlStream, batch: str) -> None:
    """One reading of the control sample, back to its row and file."""
    labels = controls.readings(stream, batch)
    chosen = st.selectbox(
        "Open a reading of the control sample",
        list(labels),
        format_func=labels.__getitem__,
        index=None,
        placeholder="Choose one to see where it came from",
        key=f"control-reading-{stream.instrument}-{batch}",
    )
    if chosen:
        origins.number(store, chosen)
