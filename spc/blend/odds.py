"""How a blend will turn out: mean, uncertainty and the odds, worked out and simulated.

The true mean of a blend is normal about the mass-weighted mean of its lots.  Each lot's own
uncertainty is independent of the others and averages out; a method's bias is shared by all lots it
measured and does not; different methods are independent.  Weighing moves the blend by the error in
a portion times the lot's distance from the blend.
"""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from spc.blend.problem.mixing import Mixing
from spc.blend.search.cone import chance_inside

Floats = NDArray[np.float64]


# A limit is kept to one part in a million of its window, far below what an assay resolves.
LIMIT_ROUNDING: Final = 1e-6


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Predicted:
    """One characteristic of a blend.

    Attributes
    ----------
    characteristic, unit, basis
        What it is.
    mean, deviation
        Of the blend's true value, given the assays of its lots.
    lower, upper
        Limits; infinite where there is none.
    odds
        Chance that the true value lies inside them.
    lot_variance : shape (portions,)
        Part of the variance from each portion's own uncertainty.
    methods
        The methods used.
    method_variance : shape (methods,)
        Part of the variance from what each method's results share.
    """

    characteristic: str
    unit: str
    basis: str
    mean: float
    deviation: float
    lower: float
    upper: float
    odds: float
    lot_variance: Floats
    methods: tuple[str, ...]
    method_variance: Floats

    @property
    def lot_share(self) -> Floats:
        """Share of the variance that each portion's own uncertainty makes, shape (portions,)."""
        return self.lot_variance / (self.deviation**2 or 1.0)

    @property
    def method_uncertainty(self) -> float:
        """What all results of the methods share, in ratio to the mean."""
        return math.sqrt(float(self.method_variance.sum())) / self.mean

    @property
    def method_share(self) -> Floats:
        """Share of the variance that each method's bias makes, shape (methods,)."""
        return self.method_variance / (self.deviation**2 or 1.0)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Simulated:
    """Odds by drawing blends.

    Attributes
    ----------
    odds : shape (windows,)
        Share of blends inside each window.
    joint
        Share of blends inside all of them.
    standard_error : shape (windows,)
        Of `odds`.
    joint_error
        Of `joint`.
    draws
        Number of blends.
    """

    odds: Floats
    joint: float
    standard_error: Floats
    joint_error: float
    draws: int


def predicted(mixing: Mixing, kilograms: Floats, portions: NDArray[np.int64]) -> Predicted:
    """One characteristic of the blend of these kilograms.

    Parameters
    ----------
    mixing
        What each lot brings to it.
    kilograms : shape (lots,)
        Of each lot.
    portions : shape (portions,)
        Indices of the lots of which there is any.

    Returns
    -------
    Predicted
    """
    window = mixing.window
    lots, methods = mixing.variances(kilograms)
    mean, deviation = mixing.mean(kilograms), math.sqrt(float(lots.sum() + methods.sum()))
    # Without any spread a mean on its limit is inside it, whichever way the sum was rounded.
    slack = 0.0 if deviation else LIMIT_ROUNDING * window.scale
    low, high = window.low - slack, window.high + slack
    return Predicted(
        characteristic=window.characteristic,
        unit=window.unit,
        basis=window.basis,
        mean=mean,
        deviation=deviation,
        lower=window.low,
        upper=window.high,
        odds=chance_inside(mean, deviation, lower=low, upper=high),
        lot_variance=lots[portions],
        methods=mixing.methods,
        method_variance=methods,
    )


def simulated(
    mixings: tuple[Mixing, ...],
    kilograms: Floats,
    *,
    weighing: float,
    generator: np.random.Generator,
    draws: int,
) -> Simulated:
    """Odds by drawing lots, method biases and weighing errors, and mixing them.

    Parameters
    ----------
    mixings
        One for each window.
    kilograms : shape (lots,)
        Of each lot.
    weighing
        Relative standard uncertainty of the mass of a portion.
    generator
        Source of the draws.
    draws
        Number of blends.

    Returns
    -------
    Simulated

    Notes
    -----
    Nothing is linearised: the masses that were really weighed mix the values that the lots really
    have.
    """
    inside = np.ones((len(mixings), draws), dtype=np.bool_)
    used = np.flatnonzero(kilograms)
    mass = kilograms[used] * (1.0 + weighing * generator.standard_normal((draws, used.size)))
    for row, mixing in zip(inside, mixings, strict=True):
        off = weighing * np.abs(mixing.value - mixing.window.center)
        own = np.sqrt(np.maximum(mixing.own**2 - off**2, 0.0))[used]
        value = mixing.value[used] + own * generator.standard_normal((draws, used.size))
        value += generator.standard_normal((draws, len(mixing.methods))) @ mixing.shared[:, used]
        counted = mass * mixing.weight[used]
        blend = (counted * value).sum(axis=1) / counted.sum(axis=1)
        row[:] = (mixing.window.low <= blend) & (blend <= mixing.window.high)
    odds, joint = inside.mean(axis=1), float(inside.all(axis=0).mean())
    return Simulated(
        odds=odds,
        joint=joint,
        standard_error=np.sqrt(odds * (1.0 - odds) / draws),
        joint_error=math.sqrt(joint * (1.0 - joint) / draws),
        draws=draws,
    )
