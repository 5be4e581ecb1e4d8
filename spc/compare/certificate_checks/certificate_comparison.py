"""A supplier's certificates against own results: how far to believe the next one."""

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import stats

from spc.acceptance import Slip, likely_factors
from spc.capability.intervals import Interval
from spc.charts import ChangePoint, change_point
from spc.charts.lots import Scale
from spc.charts.refusals import refuse_outside
from spc.compare.between_methods.differences import Agreement, Trend, agreement, trend
from spc.compare.certificate_checks.certificate_pairs import (
    CertificatePairs,
    Table,
    certificate_pairs,
)
from spc.compare.certificate_checks.certificate_patterns import Pattern
from spc.compare.certificate_checks.certificate_plausibility import suspicious_patterns
from spc.compare.certificate_checks.scores import COVERAGE_FACTOR, expanded_score, zeta_score
from spc.errors import InvalidInput

Floats = NDArray[np.float64]

DAYS_A_YEAR: Final = 365.25
# With fewer pairs a step is found in anything.
FEWEST_FOR_A_STEP: Final = 8
RISK: Final = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class NextCertificate:
    """How far to believe the next certificate.

    Attributes
    ----------
    within
        Distance from the own result that is asked about: in unit, on log scale a share.
    chance
        That the next certificate lies within it.
    interval
        Where its difference from the own result lies, at the confidence of the comparison; on
        log scale of log ratios.
    """

    within: float
    chance: float
    interval: Interval


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CertificateComparison:
    """What a supplier's certificates are worth.

    Attributes
    ----------
    scale
        On which differences are taken.
    lot : shape (pairs,)
        Lots with both values, in order of time.
    day : shape (pairs,)
        When, in days; NaN throughout where it is not known.
    difference : shape (pairs,)
        Declared less own: in unit, on log scale the natural logarithm of their ratio.
    expanded_score, zeta : shape (pairs,)
        E_n and zeta of each certificate against the own result; NaN where it states no
        uncertainty and none was given.
    agreement
        Bias and limits of agreement of the differences.
    yearly
        Trend of the differences per year; None where days are not known.
    change, moved
        Most likely step of the differences, its start counted among pairs, and whether such a
        step is seldom seen in steady ones; None with fewer than eight pairs.
    causes
        Factors and bases that would explain the bias, nearest first; on log scale only.
    next
        How far to believe the next certificate.
    patterns
        What was looked for in the declared values, with p-values adjusted for each other.
    certificates, confidence
        Number of certificates, with and without own result; confidence of each interval.
    """

    scale: Scale
    lot: NDArray[np.str_]
    day: Floats
    difference: Floats
    expanded_score: Floats
    zeta: Floats
    agreement: Agreement
    yearly: Trend | None
    change: ChangePoint | None
    moved: bool
    causes: tuple[Slip, ...]
    next: NextCertificate
    patterns: tuple[Pattern, ...]
    certificates: int
    confidence: float


def certificates(
    frame: Table,
    *,
    scale: Scale = "linear",
    lower: float | None = None,
    upper: float | None = None,
    within: float = 0.1,
    confidence: float = 0.95,
) -> CertificateComparison:
    """Compare a supplier's certificates with own results.

    Parameters
    ----------
    frame
        One row a lot of one characteristic of one material; columns as in `certificate_pairs`.
        Own results with the known bias of their method taken off.
    scale
        On ``"log"`` differences are ratios; heat is compared so.
    lower, upper
        Limits of the specification, in unit.
    within
        Distance at which the next certificate is asked about: in unit, on log scale a share.
    confidence
        Of each interval.

    Returns
    -------
    CertificateComparison

    Raises
    ------
    TooFewLots
        If fewer than three lots have both values.
    NotPositive
        If a value on log scale is zero or negative.
    InvalidInput
        If a column is missing or malformed, or an argument is not possible.

    Notes
    -----
    A score holds one certificate against its stated uncertainties; bias and limits of agreement
    say what the differences themselves show.  An uncertainty that no one stated is not made up:
    without it there is no score.

    References
    ----------
    ISO 13528:2022: scores.  Bland, J. M. and Altman, D. G. (1999), Statistical Methods in
    Medical Research 8, 135-160.  Hahn, G. J. (1970): prediction of the next of a normal sample.
    """
    refuse_outside(confidence, 0.0, 1.0, name="confidence", where="certificates")
    refuse_outside(
        within, 0.0, 1.0 if scale == "log" else math.inf, name="within", where="certificates"
    )
    pairs = certificate_pairs(frame, scale=scale)
    limits = _limit(lower, scale, -math.inf), _limit(upper, scale, math.inf)
    if not limits[0] < limits[1]:
        raise _refused("the lower limit is not below the upper one.", "Correct the limits.")
    paired = pairs.paired()
    difference = paired.difference
    apart = agreement(difference, confidence=confidence)
    change = _change(difference)
    return CertificateComparison(
        scale=scale,
        lot=paired.lot,
        day=paired.day,
        difference=difference,
        expanded_score=_expanded(paired),
        zeta=zeta_score(
            paired.declared_worked,
            paired.declared_uncertainty,
            paired.own_worked,
            paired.own_uncertainty,
        ),
        agreement=apart,
        yearly=_yearly(paired, confidence),
        change=change,
        moved=change is not None and change.p_value < RISK,
        causes=_causes(apart) if scale == "log" else (),
        next=_next(apart, within, scale),
        patterns=suspicious_patterns(pairs, lower=limits[0], upper=limits[1]),
        certificates=pairs.declared.size,
        confidence=confidence,
    )


def _limit(limit: float | None, scale: Scale, otherwise: float) -> float:
    if limit is None:
        return otherwise
    if scale == "linear":
        return float(limit)
    if limit <= 0.0:
        raise _refused(f"a limit of {limit:g} has no logarithm.", "Leave it out.")
    return math.log(limit)


def _expanded(paired: CertificatePairs) -> Floats:
    return expanded_score(
        paired.declared_worked,
        COVERAGE_FACTOR * paired.declared_uncertainty,
        paired.own_worked,
        COVERAGE_FACTOR * paired.own_uncertainty,
    )


def _yearly(paired: CertificatePairs, confidence: float) -> Trend | None:
    if np.isnan(paired.day).any():
        return None
    return trend(paired.day / DAYS_A_YEAR, paired.difference, confidence=confidence)


def _change(difference: Floats) -> ChangePoint | None:
    # Certificates that always differ by the same have no step.
    steady = float(np.ptp(difference)) <= 1e-9 * float(np.abs(difference).max())
    if difference.size < FEWEST_FOR_A_STEP or steady:
        return None
    return change_point(difference)


def _causes(apart: Agreement) -> tuple[Slip, ...]:
    """Factors within two standard errors, which few lots stretch as Student's t does."""
    stretch = float(stats.t.ppf(0.975, apart.lots - 1)) / 2.0
    return likely_factors(math.exp(apart.bias), stretch * apart.bias_error)


def _next(apart: Agreement, within: float, scale: Scale) -> NextCertificate:
    ends = (math.log1p(-within), math.log1p(within)) if scale == "log" else (-within, within)
    return NextCertificate(
        within=within,
        chance=apart.chance_within(*ends),
        interval=apart.prediction(apart.confidence),
    )


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="certificates", remedy=remedy)
