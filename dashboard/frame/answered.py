"""Answers that several rooms show, worked out once for each state of the store."""

from collections.abc import Sequence

import streamlit as st

from dashboard.frame.session import store
from spc.acceptance import LotVerdict
from spc.store import Survey


def verdicts(lots: Sequence[str]) -> dict[str, LotVerdict]:
    """Verdicts of several lots, judged once for each state of the store."""
    return _verdicts(store().revision(), tuple(lots))


def survey() -> Survey:
    """Every stream charted, once for each state of the store."""
    return _survey(store().revision())


@st.cache_resource(max_entries=4)
def _verdicts(  # the revision is the cache's key
    revision: tuple[str, int],  # noqa: ARG001
    lots: tuple[str, ...],
) -> dict[str, LotVerdict]:
    return store().verdicts(lots)


@st.cache_resource(max_entries=2)
def _survey(revision: tuple[str, int]) -> Survey:  # noqa: ARG001 - the cache's key
    return store().sweep()
