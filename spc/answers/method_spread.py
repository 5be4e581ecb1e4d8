"""Where the spread of a method's readings sits: in routine, and between laboratories."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import pandas as pd

from spc.answers.adoptions import uncertainty_without
from spc.answers.methods import scale_of_method
from spc.compare.spread.sampling_spread import SamplingDesign, SamplingSpread, sampling_spread
from spc.compare.spread.variance_components import Components, components
from spc.compare.studies.method_figures import method_figures
from spc.compare.studies.precision_study import Repeatability, repeatability
from spc.compare.studies.study_cells import LeftOut
from spc.errors import InvalidInput, LotHeatError
from spc.intake.methods import MeasuringMethod
from spc.store import Store

# Names of the components that every spread of readings has.
BAG: Final = "bag"
READING: Final = "reading"
# Columns of the readings with what they are called, from the widest to the narrowest.
_LEVELS: Final = {
    "material": "material",
    "supplier": "supplier",
    "crop_year": "crop year",
    "lot": "lot",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class SamplingParts:
    """What the mean of a lot is uncertain by when it is sampled and tested.

    Attributes
    ----------
    spread
        Of bags, tests, laboratories and the method.
    planned
        Whether bags and tests stand as planned, since routine could not tell them apart.
    """

    spread: SamplingSpread
    planned: bool


def readings_spread(readings: pd.DataFrame, *, material: str = "", log: bool) -> Components:
    """Variance components of routine readings of one material, or of all.

    Parameters
    ----------
    readings
        Exact ones by one method, from `store.compare.routine`.
    material
        Empty for all.
    log
        Whether the characteristic is judged in logs.

    Returns
    -------
    Components
        Down to `BAG` and `READING`.

    Raises
    ------
    InvalidInput
        If nothing was read twice.
    """
    frame = readings[readings["material"] == material] if material else readings
    if not frame.duplicated(["lot", "sample"]).any():
        raise InvalidInput(
            "no bag was read twice, so that repeatability hides in what tells lots apart.",
            where="routine readings",
            remedy="Read some bags twice, or compare laboratories.",
        )
    levels: dict[str, Any] = {
        name: frame[column].to_numpy()
        for column, name in _LEVELS.items()
        if column != "material" or not material
    }
    value = frame["value"].to_numpy(dtype=np.float64)
    return components(
        np.log(value) if log else value,
        {**levels, BAG: frame["sample"].to_numpy()},
        residual=READING,
    )


def usual_sampling(readings: pd.DataFrame, material: str) -> SamplingDesign:
    """How many bags of a lot are usually read, and how often each.

    Parameters
    ----------
    readings
        Exact ones by one method, from `store.compare.routine`.
    material
        With at least one reading.

    Returns
    -------
    SamplingDesign
        In one laboratory.
    """
    by_bag = readings[readings["material"] == material].groupby(["lot", "sample"]).size()
    bags = int(by_bag.groupby("lot").size().median())
    return SamplingDesign(bags=bags, tests=int(by_bag.median()))


def usual_level(readings: pd.DataFrame, material: str) -> float:
    """The middle of the readings of one material, in unit.

    Parameters
    ----------
    readings
        Exact ones by one method, from `store.compare.routine`.
    material
        With at least one reading.

    Returns
    -------
    float
    """
    return float(readings.loc[readings["material"] == material, "value"].median())


def stated_spread(stated: MeasuringMethod, figure: float, *, log: bool, level: float) -> float:
    """A figure of a method as a standard deviation on the scale that readings are looked at on.

    Parameters
    ----------
    stated
        The method.
    figure
        Its repeatability or its standard uncertainty.
    log
        Whether the characteristic is judged in logs.
    level
        Value near which it is wanted, in unit.

    Returns
    -------
    float
        A share where `log`, else in unit.
    """
    return stated.as_method().on_scale(figure, scale="log" if log else "linear", at=level)


def laboratories_study(readings: pd.DataFrame, left_out: Sequence[LeftOut] = ()) -> Repeatability:
    """Repeatability and reproducibility from several laboratories on the same samples.

    Parameters
    ----------
    readings
        From `store.compare.laboratories`.
    left_out
        Laboratories that a person leaves out, with the reason.

    Returns
    -------
    Repeatability

    Raises
    ------
    InvalidInput
        If they cannot be compared.
    """
    return repeatability(
        readings["value"].to_numpy(),
        readings["laboratory"].to_numpy(),
        readings["level"].to_numpy(),
        left_out=tuple(left_out),
    )


def sampling_parts(store: Store, stated: MeasuringMethod, material: str) -> SamplingParts:
    """Spreads found in routine; planning values where routine cannot tell them apart.

    Parameters
    ----------
    store
        Is read only.
    stated
        The method that tests.
    material
        With at least one reading by it.

    Returns
    -------
    SamplingParts

    Raises
    ------
    InvalidInput
        If what laboratories read of the same samples cannot be compared.
    """
    log = scale_of_method(store, stated).log
    readings = store.compare.routine(stated.characteristic, stated.method)
    level = usual_level(readings, material)
    between = _between_laboratories(store, stated, log=log)
    own = stated_spread(stated, stated.standard_uncertainty, log=log, level=level)
    rest = uncertainty_without(own, between)
    try:
        spread = readings_spread(readings, material=material, log=log)
        found = sampling_spread(spread, bag=BAG, test=READING, method=rest)
    except LotHeatError:
        planned = _planned_bags(store, material) * (1.0 if log else level)
        test = stated_spread(stated, stated.repeatability, log=log, level=level)
        spreads = SamplingSpread(bag=planned, test=test, laboratory=between, method=rest)
        return SamplingParts(spread=spreads, planned=True)
    return SamplingParts(spread=replace(found, laboratory=between), planned=False)


def _planned_bags(store: Store, material: str) -> float:
    """Relative spread bag to bag that the catalogue plans with."""
    cvs = {one.material: one.within_lot_cv for one in store.catalogue().materials}
    return cvs[material] or 0.0


def _between_laboratories(store: Store, stated: MeasuringMethod, *, log: bool) -> float:
    """Standard deviation between laboratories, if a comparison tells it; else zero."""
    readings = store.compare.laboratories(stated.characteristic, stated.method)
    if readings.empty:
        return 0.0
    found = laboratories_study(readings)
    return method_figures(found, kind="share" if log else "unit").standard_uncertainty
