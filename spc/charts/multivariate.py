"""Several characteristics of each lot judged together: Hotelling's T squared."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import linalg, stats

from spc.charts.refusals import ROUNDING, refuse_outside
from spc.errors import InvalidInput, NoSpread, TooFewLots

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

# Characteristics whose correlations leave less than this share of independent spread are one.
LEAST_EIGENVALUE: Final = 1e-10


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Standing:
    """Lots standardised by a baseline.

    Attributes
    ----------
    scores : shape (lots, characteristics)
        Distance from the mean of the baseline in its standard deviations; NaN throughout a
        lot that lacks a characteristic.
    inverse : shape (characteristics, characteristics)
        Inverse of the correlation matrix of the baseline.
    member : shape (lots,)
        Whether the lot is complete and part of the baseline.
    """

    scores: Floats
    inverse: Floats
    member: Flags

    @property
    def size(self) -> int:
        """Number of lots of the baseline."""
        return int(np.count_nonzero(self.member))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class TSquared:
    """Hotelling's T squared of each lot, and what each characteristic has to do with it.

    Attributes
    ----------
    values : shape (lots,)
        T squared; NaN for a lot that lacks a characteristic.
    upper : shape (lots,)
        Limit of each lot: of the Beta kind in the baseline, of the F kind outside it.
    signals : shape (lots,)
        Whether the value lies above its limit.
    contributions : shape (lots, characteristics)
        By how much T squared would fall without the characteristic: how far it is out of
        step with all the others (the conditional term).  They do not add up to the value.
    alone : shape (lots, characteristics)
        T squared of the characteristic by itself, the square of its score (the
        unconditional term): large where it is far out whatever the others do.
    size
        Number of lots of the baseline.
    risk
        Chance that a steady lot signals.
    """

    values: Floats
    upper: Floats
    signals: Flags
    contributions: Floats
    alone: Floats
    size: int
    risk: float


def t_squared(x: ArrayLike, *, baseline: ArrayLike | None = None, risk: float = 0.0027) -> TSquared:
    """Hotelling's T squared for single lots, with the contribution of each characteristic.

    Parameters
    ----------
    x : shape (lots, characteristics)
        One value of each characteristic per lot, each in its own unit, on log scale where
        it is charted so; NaN where one was not measured.
    baseline : bool, shape (lots,)
        Which lots the means and correlations rest on; all complete lots if left out.
    risk
        Chance that a steady lot signals.

    Returns
    -------
    TSquared
        Without unit.

    Raises
    ------
    TooFewLots
        If the baseline has fewer than two complete lots more than characteristics.
    NoSpread
        If a characteristic is the same in all lots of the baseline; `where` names its column.
    InvalidInput
        If `x` is not a table or holds an infinity, `baseline` is not one flag a lot,
        characteristics determine each other, or `risk` is not between 0 and 1.

    Notes
    -----
    A lot that helped to set the mean and the correlations is closer to them than a new one:
    its T squared is (n - 1)^2 / n times a Beta(p / 2, (n - p - 1) / 2) variable, that of a
    new lot p (n + 1) (n - 1) / (n (n - p)) times an F(p, n - p) one.  Of the many terms of
    the decomposition the two that read plainly are kept: each characteristic alone, and
    each given all others.  A lot far out along a correlation shows in the first, a lot that
    breaks a correlation in the second.

    References
    ----------
    Tracy, N. D., Young, J. C. and Mason, R. L. (1992), Journal of Quality Technology 24,
    88-95.
    Mason, R. L., Tracy, N. D. and Young, J. C. (1995), Journal of Quality Technology 27,
    99-108.
    """
    refuse_outside(risk, 0.0, 1.0, name="risk", where="t_squared")
    standing = standardised(x, baseline, where="t_squared")
    pull = standing.scores @ standing.inverse
    values = np.asarray((pull * standing.scores).sum(axis=1))
    n, p = standing.size, standing.inverse.shape[0]
    own = (n - 1) ** 2 / n * float(stats.beta.isf(risk, p / 2, (n - p - 1) / 2))
    new = p * (n + 1) * (n - 1) / (n * (n - p)) * float(stats.f.isf(risk, p, n - p))
    upper = np.where(standing.member, own, new)
    return TSquared(
        values=values,
        upper=upper,
        signals=values > upper,
        contributions=pull**2 / np.diag(standing.inverse),
        alone=standing.scores**2,
        size=n,
        risk=risk,
    )


def standardised(x: ArrayLike, baseline: ArrayLike | None, *, where: str) -> Standing:
    """Lots in the standard deviations of a baseline, and its correlations.

    Parameters
    ----------
    x : shape (lots, characteristics)
        One value of each characteristic per lot; NaN where one was not measured.
    baseline : bool, shape (lots,)
        Which lots the means and correlations rest on; all complete lots if left out.
    where
        The computation that was asked for.

    Returns
    -------
    Standing

    Raises
    ------
    TooFewLots
        If the baseline has fewer than two complete lots more than characteristics.
    NoSpread
        If a characteristic is the same in all lots of the baseline.
    InvalidInput
        If `x` is not a table or holds an infinity, `baseline` is not one flag a lot, or
        characteristics determine each other.
    """
    values = _table(x, where)
    complete = np.asarray(~np.isnan(values).any(axis=1))
    member = complete & _flags(baseline, complete.size, where)
    base = values[member]
    needed = values.shape[1] + 2
    if len(base) < needed:
        raise TooFewLots(needed=needed, given=len(base), where=where)
    mean, deviation = base.mean(axis=0), base.std(axis=0, ddof=1)
    _refuse_constant(base, where)
    scores = np.where(complete[:, None], (values - mean) / deviation, np.nan)
    own = scores[member]
    return Standing(
        scores=scores,
        inverse=_inverse(own.T @ own / (len(base) - 1), where),
        member=member,
    )


def _table(x: ArrayLike, where: str) -> Floats:
    values = np.asarray(x, dtype=np.float64)
    if values.ndim != 2 or values.shape[1] == 0:
        raise InvalidInput(
            f"values of shape {values.shape} are not a row of characteristics for each lot.",
            where=where,
            remedy="Give one row a lot and one column a characteristic.",
        )
    infinite = np.argwhere(np.isinf(values))
    if infinite.size:
        lot, characteristic = infinite[0]
        raise InvalidInput(
            f"characteristic {characteristic} of lot {lot} is infinite.",
            where=where,
            remedy="Use NaN for what was not measured.",
        )
    return values


def _flags(baseline: ArrayLike | None, lots: int, where: str) -> Flags:
    if baseline is None:
        return np.ones(lots, dtype=np.bool_)
    flags = np.asarray(baseline)
    if flags.dtype != np.bool_ or flags.shape != (lots,):
        raise InvalidInput(
            f"a baseline of shape {flags.shape} and type {flags.dtype} does not mark {lots} lots.",
            where=where,
            remedy="Say of each lot whether it belongs to the baseline.",
        )
    return flags


def _refuse_constant(base: Floats, where: str) -> None:
    span = base.max(axis=0) - base.min(axis=0)
    constant = np.flatnonzero(span <= ROUNDING * np.abs(base).max(axis=0))
    if constant.size:
        column = int(constant[0])
        raise NoSpread(
            value=float(base[0, column]),
            lots=len(base),
            where=f"{where}, characteristic {column}",
        )


def _inverse(correlation: Floats, where: str) -> Floats:
    size, axes = linalg.eigh(correlation)
    if size[0] < LEAST_EIGENVALUE:
        involved = np.flatnonzero(np.abs(axes[:, 0]) > math.sqrt(LEAST_EIGENVALUE))
        raise InvalidInput(
            f"characteristics {', '.join(map(str, involved))} determine each other.",
            where=where,
            remedy="Leave one of them out.",
        )
    return np.asarray((axes / size) @ axes.T, dtype=np.float64)
