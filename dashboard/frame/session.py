"""The store that the running server holds, and who is looking at it."""

from collections.abc import Sequence

import pandas as pd
import streamlit as st

from spc.acceptance import Line, LotVerdict
from spc.acceptance.plans.switching import Inspected
from spc.answers.specified_lines import line_on
from spc.errors import StoreError
from spc.store import Lot, Store, StreamKey, Survey

_HELD: list[Store] = []
ROLES = ("QA officer", "QA manager", "Purchasing", "Product developer")


def hold(store: Store) -> None:
    """Make a store the one that every page of this process uses."""
    _HELD[:] = [store]


def release() -> None:
    """Close the store."""
    while _HELD:
        _HELD.pop().close()


def store() -> Store:
    """The store of this process.

    Raises
    ------
    StoreError
        If the server was started without one.
    """
    if not _HELD:
        raise StoreError(
            "the dashboard was started without a store.",
            remedy="Start it with `lotheat serve` or `lotheat demo`.",
        )
    return _HELD[0]


def remember(name: str, role: str) -> None:
    """Keep who signed last, so that the next form is filled in."""
    st.session_state["who"] = (name, role)


def who() -> tuple[str, str]:
    """Name and role as last signed with; empty on the first visit."""
    name, role = st.session_state.get("who", ("", ROLES[0]))
    return str(name), str(role)


def tell(message: str) -> None:
    """Keep a message for the next run of the page."""
    st.session_state["told"] = message


def turn() -> int:
    """The number of this visit's delivery; a new one empties the place where files are dropped."""
    return int(st.session_state.get("turn", 0))


def next_turn() -> None:
    """Begin the next delivery."""
    st.session_state["turn"] = turn() + 1


def told() -> None:
    """Show the message that was kept, once."""
    message = st.session_state.pop("told", "")
    if message:
        st.success(message)


def verdicts(lots: Sequence[str]) -> dict[str, LotVerdict]:
    """Verdicts of several lots, judged once for each state of the store."""
    return _verdicts(store().revision(), tuple(lots))


def survey() -> Survey:
    """Every stream charted, once for each state of the store."""
    return _survey(store().revision())


def inspected(lot: Lot) -> list[Inspected]:
    """How the earlier lots of this supplier and material went, in order of receipt."""
    lots = store().lots()
    mine = lots[
        (lots["material"] == lot.material)
        & (lots["supplier"] == lot.supplier)
        & (lots["received_at"] < pd.Timestamp(lot.received_at))
        & ~lots["decision"].isin(["", "on hold"])
    ]
    return ["accepted" if one == "accepted" else "rejected" for one in mine["decision"]]


def declared_methods() -> frozenset[str]:
    """Methods that are the supplier's word."""
    return frozenset(
        one.method for one in store().catalogue().methods if one.standing == "declared"
    )


def line_for(key: StreamKey) -> Line | None:
    """The newest specification's line on a stream, if it is on the basis the stream is on."""
    return line_on(
        store().catalogue(),
        material=key.material,
        characteristic=key.characteristic,
        basis=key.basis,
    )


@st.cache_resource(max_entries=4)
def _verdicts(  # the revision is the cache's key
    revision: tuple[str, int],  # noqa: ARG001
    lots: tuple[str, ...],
) -> dict[str, LotVerdict]:
    return store().verdicts(lots)


@st.cache_resource(max_entries=2)
def _survey(revision: tuple[str, int]) -> Survey:  # noqa: ARG001 - the cache's key
    return store().sweep()
