"""The next step of a blend: approve, issue, record its making, or give it up."""

import pandas as pd
import streamlit as st

from dashboard.blends.words import kept
from dashboard.frame import pending, signing
from dashboard.frame.changing import done
from dashboard.gate import present
from spc.answers.blends.draft import prediction_as_weighed
from spc.store import Store
from spc.store.blends.blend_records import Blend
from spc.store.blends.blends import place
from spc.store.blends.made_lot import OWN


def next_step(store: Store, planned: Blend) -> None:
    """What waits for a second person, and the forms of what may happen to a blend now."""
    pending.about(place(planned), key=planned.blend)
    match planned.status:
        case "draft":
            _approve(store, planned)
        case "approved":
            _issue(store, planned)
        case "issued":
            _make(store, planned)
    if planned.status in ("draft", "approved", "issued"):
        with st.expander("Give it up"):
            _cancel(store, planned)


def _approve(store: Store, planned: Blend) -> None:
    with st.form("approve"):
        wanted = st.form_submit_button("Approve the draft", type="primary")
    if wanted:
        signing.ask(lambda by: store.blends.ask_approval(planned.blend, by=by))


def _issue(store: Store, planned: Blend) -> None:
    if OWN not in {one.supplier for one in store.catalogue().suppliers}:
        _introduce(store)
        return
    with st.form("issue"):
        st.markdown(kept.WHAT_ISSUING_DOES)
        wanted = st.form_submit_button("Issue the blend sheet", type="primary")
    if wanted:
        signing.ask(lambda by: store.blends.ask_issue(planned.blend, by=by))


def _introduce(store: Store) -> None:
    """The catalogue must know in whose name a blend stands before one is issued."""
    with st.form("introduce"):
        st.markdown(kept.WHO_BLENDS)
        country = st.text_input("Country you blend in")
        wanted = st.form_submit_button("Add it to the catalogue")
    if wanted:
        done(
            lambda: store.blends.introduce(country=country, by=present.proof()),
            lambda _: "Blends made here now stand in the catalogue; the sheet can be issued.",
        )


def _make(store: Store, planned: Blend) -> None:
    """What was weighed in, and what came out."""
    with st.form("make"):
        st.markdown("**Record what was weighed in and what came out**")
        weighed = st.data_editor(
            pd.DataFrame(
                {
                    "lot": [one.lot for one in planned.draft.portions],
                    "planned (kg)": [one.kg for one in planned.draft.portions],
                    "weighed in (kg)": [one.kg for one in planned.draft.portions],
                }
            ),
            hide_index=True,
            disabled=["lot", "planned (kg)"],
            key=f"weighed-{planned.blend}",
        )
        first, second, third, fourth = st.columns(4)
        lot = first.text_input("Number of the new lot")
        packages = second.number_input("Packages, 0 if not counted", 0, 100_000, 0)
        package_kg = third.number_input("kg a package", 0.0, 5000.0, 25.0)
        made_on = fourth.date_input("Made on", value=store.today(), max_value=store.today())
        wanted = st.form_submit_button("Record that it was made", type="primary")
    if not wanted:
        return
    kilograms = dict(zip(weighed["lot"], weighed["weighed in (kg)"].astype(float), strict=True))
    done(
        lambda: store.blends.make(
            planned.blend,
            lot=lot,
            weighed=kilograms,
            packages=int(packages) or None,
            package_kg=package_kg if packages else None,
            predicted=prediction_as_weighed(store, planned.draft, kilograms),
            made_on=made_on,
            by=present.proof(),
        ),
        lambda _: f"Lot {lot} stands in the store, and its parents are on record.",
    )


def _cancel(store: Store, planned: Blend) -> None:
    with st.form("cancel"):
        reason = st.text_input("Why it is given up")
        wanted = st.form_submit_button("Give the blend up")
    if wanted:
        done(
            lambda: store.blends.cancel(planned.blend, by=present.proof(), reason=reason),
            lambda _: f"{planned.draft.name} is given up; what was set aside can be used again.",
        )
