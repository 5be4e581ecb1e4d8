"""How likely each supplier is the most consistent, and its next lot inside the limits."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import special

from spc.compare.between_suppliers.consistency import FEWEST_FOR_CONSISTENCY
from spc.compare.between_suppliers.lots_by_supplier import GroupedLots
from spc.compare.between_suppliers.shrunken_means import ShrunkenMeans, drawn_to_center
from spc.compare.between_suppliers.shrunken_spreads import ShrunkenSpreads
from spc.compare.between_suppliers.simulated_shares import blocks, share_error

Floats = NDArray[np.float64]

# Where uncertainty explains all spread, lots are taken to differ by this share of what was found.
NO_SPREAD: Final = 1e-9


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ranking:
    """Chances of suppliers by drawing, each with its standard error.

    Attributes
    ----------
    most_consistent : shape (suppliers,)
        That lots of this supplier differ least, among suppliers with five lots or more; NaN for
        the others.
    inside : shape (suppliers,)
        That the next lot lies between the limits; NaN if no limit is stated.
    most_consistent_error, inside_error : shape (suppliers,)
        Standard errors by the number of draws: what another seed might change.
    draws, seed
        How many were drawn, and from where.
    """

    most_consistent: Floats
    most_consistent_error: Floats
    inside: Floats
    inside_error: Floats
    draws: int
    seed: int


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class DrawnSuppliers:
    """What the spreads and means of suppliers may be, to be drawn from.

    Attributes
    ----------
    groups
        Lots of each supplier.
    spreads, means
        What is known of all suppliers together.
    """

    groups: GroupedLots
    spreads: ShrunkenSpreads
    means: ShrunkenMeans

    def draw_variances(self, size: int, generator: np.random.Generator) -> Floats:
        """Draws of each supplier's variance; shape (size, suppliers)."""
        known, own = self.spreads, self.groups.degrees
        at = generator.choice(known.chance.size, size, p=known.chance)
        common = (known.common_degrees * known.common_variance)[at, None]
        half = 0.5 * (own + known.common_degrees[at, None])
        pooled = own * self.groups.variance + common
        return np.asarray(0.5 * pooled / generator.standard_gamma(half), dtype=np.float64)

    def draw_means(self, variance: Floats, generator: np.random.Generator) -> Floats:
        """Draws of each supplier's mean, to draws of its variance; same shape."""
        known = self.means
        between = known.possible_between[
            generator.choice(known.chance.size, len(variance), p=known.chance), None
        ]
        mean, error, _ = drawn_to_center(self.groups.mean, variance / self.groups.lots, between)
        return np.asarray(mean + error * generator.standard_normal(mean.shape), dtype=np.float64)


def ranking(
    suppliers: DrawnSuppliers, *, limits: tuple[float, float], draws: int, seed: int
) -> Ranking:
    """Draw spreads and means that the lots allow, and count.

    Parameters
    ----------
    suppliers
        What to draw from.
    limits
        Lower and upper, on the scale of the lots less their origin; infinite where there is none.
    draws
        How many.
    seed
        Of the draws; the same one gives the same result.

    Returns
    -------
    Ranking

    Notes
    -----
    Each draw takes one of the possibilities of how suppliers differ, then each supplier's spread
    and mean given it, so that suppliers with few lots are drawn towards the others and keep their
    doubt.  The stated uncertainty of values is taken from the variance drawn; where nothing is
    left, suppliers share the first place.  A lot inside the limits is the lot itself, not what a
    method would find of it.

    References
    ----------
    Gelman, A. et al. (2013), Bayesian Data Analysis, 3rd ed., 5.4 (drawing level by level).
    Tsui, K.-W. and Weerahandi, S. (1989), Journal of the American Statistical Association 84,
    602-607 (variances less a known part, cut at zero).
    """
    groups = suppliers.groups
    stated = groups.lots.size > 0 and bool(np.isfinite(limits).any())
    compared = groups.lots >= FEWEST_FOR_CONSISTENCY
    compared &= compared.sum() > 1
    for_spreads, for_means = np.random.default_rng(seed).spawn(2)
    first, inside, square = np.zeros((3, groups.lots.size))
    for block in blocks(draws):
        variance = suppliers.draw_variances(block, for_spreads)
        left = np.maximum(variance - groups.measurement, 0.0)
        first[compared] += _firsts(left[:, compared])
        if stated:
            sigma = np.sqrt(np.maximum(left, NO_SPREAD**2 * variance))
            chance = _inside(suppliers.draw_means(variance, for_means), sigma, limits)
            inside += chance.sum(axis=0)
            square += (chance**2).sum(axis=0)
    mean = inside / draws
    scatter = np.sqrt(np.maximum(square / draws - mean**2, 0.0) / draws)
    return Ranking(
        most_consistent=np.where(compared, first / draws, np.nan),
        most_consistent_error=np.where(compared, share_error(first, draws), np.nan),
        inside=np.where(stated, mean, np.nan),
        inside_error=np.where(stated, scatter, np.nan),
        draws=draws,
        seed=seed,
    )


def _firsts(variance: Floats) -> Floats:
    """How often each supplier has the least variance; those that share it count in parts."""
    if not variance.shape[1]:
        return np.zeros(0)
    least = variance == variance.min(axis=1, keepdims=True)
    return np.asarray((least / least.sum(axis=1, keepdims=True)).sum(axis=0), dtype=np.float64)


def _inside(mean: Floats, sigma: Floats, limits: tuple[float, float]) -> Floats:
    lower, upper = limits
    above = special.ndtr((upper - mean) / sigma) if np.isfinite(upper) else 1.0
    below = special.ndtr((lower - mean) / sigma) if np.isfinite(lower) else 0.0
    return np.asarray(above - below, dtype=np.float64)
