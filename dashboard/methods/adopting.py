"""What was found of a method, handed on: a correction, its withdrawal, or changed figures.

A correction is a proposal until somebody adopts it, below *corrections*.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

import streamlit as st

from dashboard.frame import answered, choosing, listing
from dashboard.frame.changing import done
from dashboard.frame.escaping import marked
from dashboard.gate import present
from dashboard.methods import known
from dashboard.methods.tables.corrections import changes_table
from dashboard.methods.words import corrections, stated_figures
from spc.answers import adoptions, methods
from spc.compare.between_methods.corrections import Correction
from spc.errors import LotHeatError
from spc.intake.catalogue import parse
from spc.intake.corrections import AdoptedCorrection
from spc.intake.methods import MeasuringMethod
from spc.store import Store


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wanted:
    """Why, and from which day on."""

    reason: str
    since: date


def correction(
    store: Store,
    found: Correction,
    *,
    stated: MeasuringMethod,
    against: str,
    lots: tuple[str, str],
) -> None:
    """What a correction would do to the lots that wait, and the form to propose it."""
    unit = known.scale_of(stated).unit
    draft = adoptions.next_correction(
        found,
        methods.numbered_corrections(store),
        stated=stated,
        against=against,
        lots=lots,
        reason="",
        effective_from=store.today(),
    )
    with st.expander(marked(f"Propose {draft.name}")):
        st.markdown(
            marked(f"It {corrections.correction(found, unit=unit)}. {corrections.ADOPTING}")
        )
        _preview(store, draft)
        wanted = _wanted(store, form="correction", label=f"Propose version {draft.version}")
    if wanted is not None:
        _propose(store, draft, wanted)


def withdrawal(store: Store, stated: MeasuringMethod, adopted: Sequence[AdoptedCorrection]) -> None:
    """The form to take back a correction that is in force."""
    if not adopted:
        return
    with st.expander("Withdraw a correction"):
        st.markdown(
            "A withdrawal is the next version, one that changes nothing. Lots received before its"
            " day keep the correction they were judged with."
        )
        names = {one.name: one for one in adopted}
        one = names[choosing.one_of("Correction", list(names), key="withdraw")]
        draft = adoptions.next_correction(
            adoptions.NO_CORRECTION,
            methods.numbered_corrections(store),
            stated=stated,
            against=one.against,
            lots=(one.material, one.supplier),
            reason="",
            effective_from=store.today(),
        )
        _preview(store, draft)
        wanted = _wanted(store, form="withdrawal", label="Propose the withdrawal")
    if wanted is not None:
        _propose(store, draft, wanted)


def figures(
    store: Store,
    stated: MeasuringMethod,
    changed: MeasuringMethod,
    *,
    form: str,
    notes: Sequence[str] = (),
) -> None:
    """The form to propose changed figures of a method as its next version.

    Parameters
    ----------
    notes
        What the figures leave out; kept with the reason.
    """
    versions = store.compare.method_versions(stated.characteristic, stated.method)
    version = 1 + int(versions["version"].max())
    with st.expander(marked(f"Propose version {version} of {stated.method}")), st.form(form):
        st.markdown(marked(stated_figures.changed_figures(stated, changed)))
        reason = st.text_input("Reason for the change")
        signed = st.form_submit_button(f"Propose version {version}", type="primary")
    if not signed:
        return
    if not reason.strip():
        st.error("A change of a method stands with a reason.")
        return
    text = adoptions.method_text(
        changed, version=version, signed=(present.name(), " ".join((reason, *notes)))
    )
    file = f"{stated.method}-{stated.characteristic}-{version}.toml".replace(" ", "-")
    _receive(
        store,
        (file, text),
        said=f"Version {version} of {stated.method} is proposed; it waits for its adoption at"
        " *stated figures*.",
    )


def _preview(store: Store, draft: AdoptedCorrection) -> None:
    """The waiting lots that would be judged otherwise."""
    waiting = tuple(store.lots(waiting=True)["lot"])
    before, after = answered.verdicts(waiting), known.would_be(waiting, draft)
    table = changes_table(before, after, characteristic=draft.characteristic)
    moved = int((table["recommendation now"] != table["recommendation then"]).sum())
    st.markdown(marked(corrections.would_change(len(waiting), len(table), moved)))
    if not table.empty:
        listing.table(table, name=f"would-change-{draft.version}")


def _wanted(store: Store, *, form: str, label: str) -> _Wanted | None:
    """Why it is proposed and from when on; None until it is said."""
    with st.form(form):
        today = store.today()
        since = st.date_input("To be in force from", value=today, min_value=today)
        reason = st.text_input("Reason")
        if not st.form_submit_button(label, type="primary"):
            return None
    if not reason.strip():
        st.error("A correction stands with a reason.")
        return None
    return _Wanted(reason=reason.strip(), since=since)


def _propose(store: Store, draft: AdoptedCorrection, wanted: _Wanted) -> None:
    """Receive the correction as a catalogue of its own; it corrects nothing before its adoption."""
    proposed = replace(draft, reason=wanted.reason, effective_from=wanted.since)
    text = adoptions.correction_text(proposed)
    try:
        parse(text, known=store.catalogue())
    except LotHeatError as problem:
        st.error(marked(str(problem)))
        return
    _receive(
        store,
        (f"{proposed.name.replace(' ', '-')}.toml", text),
        said=f"Proposed: {proposed.name}. It waits for its adoption below *corrections*.",
    )


def _receive(store: Store, file: tuple[str, str], *, said: str) -> None:
    name, text = file
    done(lambda: store.receive_bytes(name, text.encode(), by=present.proof()), lambda _: said)
