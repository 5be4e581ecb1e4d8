"""What the suppliers of today can hold: blends of lots that have not come yet."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Self

import numpy as np
from numpy.typing import ArrayLike, NDArray

from spc.errors import InvalidInput, TooFewLots

Floats = NDArray[np.float64]

DRAWS: Final = 20_000
SEED: Final = 1787
FEWEST_LOTS: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class FutureStream:
    """What a supplier's lots were, from which its next ones are drawn.

    Attributes
    ----------
    name
        Of the supplier or stream.
    mean, sigma
        Of the natural logarithms of lot values, sigma between lots.
    lots
        How many they rest on.
    share
        In the recipe, by mass.
    """

    name: str
    mean: float
    sigma: float
    lots: int
    share: float

    @classmethod
    def of(cls, name: str, values: ArrayLike, *, share: float, log_shift: float = 0.0) -> Self:
        """A stream by the values of its lots so far.

        Parameters
        ----------
        values : array_like of shape (lots,)
            Above zero; too few of them are no error before they are drawn from.
        log_shift
            What the model's values are off by, on log scale; it is added to the mean.
        """
        logs = np.log(np.asarray(values, dtype=np.float64))
        return cls(
            name=name,
            mean=float(logs.mean()) + log_shift if logs.size else 0.0,
            sigma=float(logs.std(ddof=1)) if logs.size > 1 else 0.0,
            lots=int(logs.size),
            share=share,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FutureBlends:
    """Blends of future lots against a window.

    Attributes
    ----------
    kept, kept_error
        Share of blends inside the window when the recipe is kept as it is, whatever the lots
        are, with its Monte Carlo standard error.
    adjusted, adjusted_error
        The same when each blend is mixed anew from the measured heat of its lots.
    low, middle, high
        5, 50 and 95 % points of blends by the kept recipe.
    """

    kept: float
    kept_error: float
    adjusted: float
    adjusted_error: float
    low: float
    middle: float
    high: float


def future_blends(
    streams: Sequence[FutureStream],
    *,
    lower: float,
    upper: float,
    method_uncertainty: float = 0.0,
    draws: int = DRAWS,
    seed: int = SEED,
) -> FutureBlends:
    """How often blends of the next lots would lie inside a window.

    Parameters
    ----------
    streams
        One or several; their shares add up to 1.
    lower, upper
        Window of the blend, in the unit of the lots.
    method_uncertainty
        Relative standard uncertainty of measured lot means, shared by the lots of one blend.
    draws, seed
        Of the simulation.

    Returns
    -------
    FutureBlends

    Raises
    ------
    InvalidInput
        If shares do not add up to 1, or a figure is not possible.
    TooFewLots
        If a stream rests on fewer than five lots.

    Notes
    -----
    The next lot of a stream is drawn from the predictive distribution of a normal sample, Student's
    t about its mean.  Mixed anew, the blend aims at the middle of the window with what its lots
    are measured to be; where they all lie on one side, the nearest lot is taken alone.

    References
    ----------
    Hahn, G. J. (1970), Journal of Quality Technology 2, 195-200: the next of a normal sample.
    """
    _check(streams, lower, upper, method_uncertainty)
    generator = np.random.default_rng(seed)
    lots = np.exp(np.stack([_next_lots(one, draws, generator) for one in streams], axis=1))
    shares = np.array([one.share for one in streams])
    kept = lots @ shares
    # Measured heat is off by the same share for all lots of a blend, so mixing does not average it.
    off = np.exp(method_uncertainty * generator.standard_normal(draws))
    measured = lots * off[:, None]
    aim = math.sqrt(lower * upper) if lower > 0.0 else upper / 2.0
    reached = np.clip(aim, measured.min(axis=1), measured.max(axis=1)) / off
    share_kept, share_adjusted = (
        float(np.mean((heat >= lower) & (heat <= upper))) for heat in (kept, reached)
    )
    low, middle, high = (float(point) for point in np.quantile(kept, (0.05, 0.5, 0.95)))
    return FutureBlends(
        kept=share_kept,
        kept_error=math.sqrt(share_kept * (1.0 - share_kept) / draws),
        adjusted=share_adjusted,
        adjusted_error=math.sqrt(share_adjusted * (1.0 - share_adjusted) / draws),
        low=low,
        middle=middle,
        high=high,
    )


def _next_lots(stream: FutureStream, draws: int, generator: np.random.Generator) -> Floats:
    scale = stream.sigma * math.sqrt(1.0 + 1.0 / stream.lots)
    return np.asarray(stream.mean + scale * generator.standard_t(stream.lots - 1, draws))


def _check(
    streams: Sequence[FutureStream], lower: float, upper: float, method_uncertainty: float
) -> None:
    for one in streams:
        if one.lots < FEWEST_LOTS:
            raise TooFewLots(needed=FEWEST_LOTS, given=one.lots, where=f"future of {one.name}")
        if not (math.isfinite(one.mean) and one.sigma >= 0.0 and one.share >= 0.0):
            raise _refused(
                f"{one.name} has mean {one.mean:g}, sigma {one.sigma:g} and share {one.share:g}.",
                "Give a finite mean, and sigma and share of zero or more.",
            )
    total = sum(one.share for one in streams)
    if not math.isclose(total, 1.0, abs_tol=1e-9):
        raise _refused(
            f"the shares add up to {total:g}, not to 1.", "Give each stream its share of the blend."
        )
    if not (0.0 <= lower < upper and method_uncertainty >= 0.0):
        raise _refused(
            f"a window from {lower:g} to {upper:g} is none.", "Give its lower end first."
        )


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="future_blends", remedy=remedy)
