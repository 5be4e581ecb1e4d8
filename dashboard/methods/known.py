"""What the store knows of a method, gathered once for each of its states."""

from typing import Any

import numpy as np
import pandas as pd
import streamlit as st

from dashboard.frame import session
from spc.acceptance import LotVerdict
from spc.compare.spread.variance_components import Components, components
from spc.errors import InvalidInput
from spc.intake.corrections import AdoptedCorrection
from spc.intake.methods import MeasuringMethod
from spc.store.lots.controls import ControlStream

LEVELS = {"material": "material", "supplier": "supplier", "crop_year": "crop year", "lot": "lot"}


def scale_of(stated: MeasuringMethod) -> tuple[str, bool]:
    """Unit of what the method measures, and whether it is judged in logs."""
    found = session.store().catalogue().characteristic(stated.characteristic)
    return (found.unit, found.scale == "log") if found else ("", False)


def controls(stated: MeasuringMethod) -> list[ControlStream]:
    """Control samples read by a method batch after batch, one entry an instrument.

    What several laboratories read of one sample once is a comparison between them, not a watch
    kept over sensor batches.
    """
    return [
        one
        for one in _controls(session.store().revision(), stated.method)
        if one.control.characteristic == stated.characteristic and any(one.batches)
    ]


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


def others(stated: MeasuringMethod) -> list[str]:
    """Our other methods of the same characteristic, the reference first."""
    found = [
        one
        for one in session.store().catalogue().methods
        if one.characteristic == stated.characteristic
        and one.method != stated.method
        and one.standing != "declared"
    ]
    return [one.method for one in sorted(found, key=lambda one: one.standing != "reference")]


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
    _, log = scale_of(stated)
    revision = session.store().revision()
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
    if material:
        frame = frame[frame["material"] == material]
    if not frame.duplicated(["lot", "sample"]).any():
        raise InvalidInput(
            "no bag was read twice, so that repeatability hides in what tells lots apart.",
            where="routine readings",
            remedy="Read some bags twice, or compare laboratories.",
        )
    levels: dict[str, Any] = {
        name: frame[column].to_numpy()
        for column, name in LEVELS.items()
        if column != "material" or not material
    }
    value = frame["value"].to_numpy(dtype=np.float64)
    return components(
        np.log(value) if log else value,
        {**levels, "bag": frame["sample"].to_numpy()},
        residual="reading",
    )


def usual_numbers(stated: MeasuringMethod, material: str) -> tuple[int, int]:
    """How many bags of a lot are usually read, and how often each."""
    frame = readings(stated)
    by_bag = frame[frame["material"] == material].groupby(["lot", "sample"]).size()
    return int(by_bag.groupby("lot").size().median()), int(by_bag.median())


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
