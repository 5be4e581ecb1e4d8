"""What the store knows of a method, asked once for each of its states."""

import pandas as pd
import streamlit as st

from dashboard.frame import session
from spc.acceptance import LotVerdict
from spc.answers import method_spread, methods
from spc.answers.method_spread import SamplingParts
from spc.answers.methods import MethodScale
from spc.compare.spread.variance_components import Components
from spc.intake.corrections import AdoptedCorrection
from spc.intake.methods import MeasuringMethod
from spc.store.lots.controls import ControlStream


def scale_of(stated: MeasuringMethod) -> MethodScale:
    """Unit of what the method measures, and whether it is judged in logs."""
    return methods.scale_of_method(session.store(), stated)


def others(stated: MeasuringMethod) -> list[str]:
    """Our other methods of the same characteristic, the reference first."""
    return methods.other_methods(session.store(), stated)


def controls(stated: MeasuringMethod) -> list[ControlStream]:
    """Control samples read by a method batch after batch, one entry an instrument."""
    every = _controls(session.store().revision(), stated.method)
    return methods.watched_controls(every, stated.characteristic)


@st.cache_resource(max_entries=8)
def _controls(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    method: str,
) -> list[ControlStream]:
    return session.store().compare.controls(method)


def results() -> pd.DataFrame:
    """Every current result."""
    return _results(session.store().revision())


@st.cache_resource(max_entries=1)
def _results(revision: tuple[str, int]) -> pd.DataFrame:  # noqa: ARG001 - the cache's key
    return session.store().results()


def pairs(stated: MeasuringMethod, against: str) -> pd.DataFrame:
    """Lots measured by both methods, of every material."""
    return _pairs(session.store().revision(), stated.characteristic, stated.method, against)


@st.cache_resource(max_entries=8)
def _pairs(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    characteristic: str,
    method: str,
    against: str,
) -> pd.DataFrame:
    return session.store().compare.pairs(characteristic, method, against=against)


def readings(stated: MeasuringMethod) -> pd.DataFrame:
    """Every exact reading of lots, with what it is nested in."""
    return _readings(session.store().revision(), stated.characteristic, stated.method)


@st.cache_resource(max_entries=8)
def _readings(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    characteristic: str,
    method: str,
) -> pd.DataFrame:
    return session.store().compare.routine(characteristic, method)


def spread(stated: MeasuringMethod, material: str) -> Components:
    """Variance components of routine readings of one material, or of all.

    Raises
    ------
    InvalidInput
        If nothing was read twice.
    """
    revision, log = session.store().revision(), scale_of(stated).log
    return _spread(revision, stated.characteristic, stated.method, material, log=log)


@st.cache_resource(max_entries=32)
def _spread(
    revision: tuple[str, int],
    characteristic: str,
    method: str,
    material: str,
    *,
    log: bool,
) -> Components:
    frame = _readings(revision, characteristic, method)
    return method_spread.readings_spread(frame, material=material, log=log)


def sampling_parts(stated: MeasuringMethod, material: str) -> SamplingParts:
    """What the mean of a lot is uncertain by when it is sampled and tested."""
    return _sampling_parts(session.store().revision(), stated, material)


@st.cache_resource(max_entries=32)
def _sampling_parts(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    stated: MeasuringMethod,
    material: str,
) -> SamplingParts:
    return method_spread.sampling_parts(session.store(), stated, material)


def compared_laboratories(stated: MeasuringMethod) -> pd.DataFrame:
    """What several laboratories read of the same samples."""
    return _laboratories(session.store().revision(), stated.characteristic, stated.method)


@st.cache_resource(max_entries=8)
def _laboratories(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    characteristic: str,
    method: str,
) -> pd.DataFrame:
    return session.store().compare.laboratories(characteristic, method)


def would_be(lots: tuple[str, ...], draft: AdoptedCorrection) -> dict[str, LotVerdict]:
    """Verdicts of lots if a correction were in force for them."""
    # Neither its day nor who approves it moves a value; without them no key stroke judges anew.
    return _would_be(session.store().revision(), lots, draft)


@st.cache_resource(max_entries=8)
def _would_be(
    revision: tuple[str, int],  # noqa: ARG001 - the cache's key
    lots: tuple[str, ...],
    draft: AdoptedCorrection,
) -> dict[str, LotVerdict]:
    return session.store().verdicts(lots, adopting=[draft])
