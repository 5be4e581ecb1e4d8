"""The next step of a blend: approve, issue, record its making, or give it up."""

import pandas as pd
import streamlit as st

from dashboard.blends.words import kept
from dashboard.frame import pending, signing
from dashboard.frame.changing import done
from dashboard.frame.numbers import number_text, plainly, understood
from dashboard.gate import present
from spc.answers.blends.draft import prediction_as_weighed
from spc.store import Store
from spc.store.blends.blend_records import Blend
from spc.store.blends.blends import place
from spc.store.blends.made_lot import OWN

_WEIGHED, _PACKAGES, _PACKAGE_KG = (
    "weighed in (kg)",
    "Packages, 0 if not counted",
    "kg a package",
)


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
                    _WEIGHED: [plainly(one.kg) for one in planned.draft.portions],
                }
            ),
            hide_index=True,
            disabled=["lot", "planned (kg)"],
            key=f"weighed-{planned.blend}",
        )
        first, second, third, fourth = st.columns(4)
        lot = first.text_input("Number of the new lot")
        packages = number_text(second, _PACKAGES, 0)
        package_kg = number_text(third, _PACKAGE_KG, 25.0)
        made_on = fourth.date_input("Made on", value=store.today(), max_value=store.today())
        wanted = st.form_submit_button("Record that it was made", type="primary")
    if not wanted:
        return

    def make() -> str:
        """Record it, and say how its numbers were understood."""
        kilograms = {
            parent: understood(text, f"{_WEIGHED} of {parent}", least=0.0, most=1e6)
            for parent, text in zip(weighed["lot"], weighed[_WEIGHED], strict=True)
        }
        bags = int(understood(packages, _PACKAGES, least=0, most=100_000, whole=True))
        bag_kg = understood(package_kg, _PACKAGE_KG, least=0.0, most=5000.0)
        store.blends.make(
            planned.blend,
            lot=lot,
            weighed=kilograms,
            packages=bags or None,
            package_kg=bag_kg if bags else None,
            predicted=prediction_as_weighed(store, planned.draft, kilograms),
            made_on=made_on,
            by=present.proof(),
        )
        return f"{plainly(sum(kilograms.values()))} kg were weighed in"

    done(make, lambda told: f"Lot {lot} stands in the store with its parents: {told}.")


def _cancel(store: Store, planned: Blend) -> None:
    with st.form("cancel"):
        reason = st.text_input("Why it is given up")
        wanted = st.form_submit_button("Give the blend up")
    if wanted:
        done(
            lambda: store.blends.cancel(planned.blend, by=present.proof(), reason=reason),
            lambda _: f"{planned.draft.name} is given up; what was set aside can be used again.",
        )
