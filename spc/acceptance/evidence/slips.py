"""Known slips: ratios between a result and what it should have been that have a usual cause."""

import math
from dataclasses import dataclass
from typing import Final

from spc.errors import InvalidInput

# How near a ratio must lie to a slip's own: heat of honest lots scatters by 10 to 20 %.
NEARNESS: Final = 0.15
# Below this ratio two values only differ; every slip listed lies farther away.
_HONEST: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A ratio to the truth with its likely cause.

    Attributes
    ----------
    ratio
        Result divided by what it should be.
    cause, check
        What usually makes it, and what to look at.
    """

    ratio: float
    cause: str
    check: str


# Common practice, no source; the arithmetic follows from 100 mL/g, second dilutions of ten and
# 16.1 SHU per mg/kg.
SLIPS: Final = (
    Slip(
        ratio=1 / 1000,
        cause="mg/g was read as mg/kg",
        check="the unit of the column the result came from",
    ),
    Slip(
        ratio=1 / 100,
        cause="the extract dilution was never applied",
        check="portion and buffer: 0.1 g in 10 mL is factor 100",
    ),
    Slip(
        ratio=1 / 16.1,
        cause="a content in mg/kg was read as SHU",
        check="the unit of the column the result came from",
    ),
    Slip(
        ratio=1 / 10,
        cause="the dilution in the cell was forgotten, or 0.1 g was typed as 1 g",
        check="the second dilution and the portion",
    ),
    Slip(
        ratio=10,
        cause="a dilution in the cell was entered that was not made",
        check="the second dilution",
    ),
    Slip(
        ratio=16.1,
        cause="SHU were read as a content in mg/kg",
        check="the unit of the column the result came from",
    ),
    Slip(
        ratio=100,
        cause="the extract dilution was applied twice, or a decimal comma was read as thousands",
        check="the dilution columns and the decimal sign of the file",
    ),
    Slip(
        ratio=1000,
        cause="mg/kg was read as mg/g, or a decimal sign was lost",
        check="the unit and the decimal sign of the file",
    ),
)


# Ratios too near to one to be seen in one lot: they show only in a bias that stays the same over
# many lots.  Common practice, no source; the arithmetic is that of 15 against 16.1 SHU per mg/kg,
# of 9.4 g/100 g moisture, and of 0.82 for dihydrocapsaicin in a profile of 60 to 40.
FACTORS: Final = (
    Slip(
        ratio=1 / (1 - 0.094),
        cause="the other result is on dry basis, and ours as-is",
        check="the basis that the certificate states, and the moisture",
    ),
    Slip(
        ratio=15 / 16.1,
        cause="the other result was worked out at 15 SHU per mg/kg, and not at 16.1",
        check="the factor that the other laboratory states",
    ),
    Slip(
        ratio=1 - 0.094,
        cause="the other result is as-is, and ours on dry basis",
        check="the basis that the certificate states, and the moisture",
    ),
    Slip(
        ratio=15 * (0.6 + 0.82 * 0.4) / 16.1,
        cause="the other result comes from pungency units, which weigh dihydrocapsaicin less",
        check="the formula that the other laboratory states",
    ),
)
# Moisture and profile of a supplier's lots are not those that the ratios above were worked out for.
_LOOSENESS: Final = 0.01
# Beyond this standard error a ratio fits nearly all of them.
_LOOSEST: Final = 0.03
_COVERAGE: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Contradiction:
    """A printed value that does not follow from its own parts.

    Attributes
    ----------
    printed, computed
        The value as printed, and as recomputed from its parts.
    deviation
        Computed divided by printed, less one.
    """

    printed: float
    computed: float
    deviation: float


def likely_slip(result: float, expected: float) -> Slip | None:
    """The known slip that would explain a result, if its ratio lies near one.

    Parameters
    ----------
    result, expected
        Positive values in one unit: the result, and what history or the certificate leads one to
        expect.

    Returns
    -------
    Slip or None
        None where the ratio is honest, or fits no slip.

    Raises
    ------
    InvalidInput
        If a value is not positive and finite.

    Notes
    -----
    Nearness is measured on the ratio's logarithm: a result a third above or below what a slip
    predicts still points to it.
    """
    _check_ratio(result, expected)
    ratio = result / expected
    if 1 / _HONEST < ratio < _HONEST:
        return None
    nearest = min(SLIPS, key=lambda slip: abs(math.log(ratio / slip.ratio)))
    return nearest if abs(math.log(ratio / nearest.ratio)) < math.log1p(2 * NEARNESS) else None


def likely_factors(ratio: float, standard_error: float) -> tuple[Slip, ...]:
    """The known factors and bases that would explain a bias which many lots show alike.

    Parameters
    ----------
    ratio
        Of the other's results to ours, over many lots; for one lot use `likely_slip`.
    standard_error
        Of its logarithm, so a share of the ratio.

    Returns
    -------
    tuple of Slip
        All that fit, nearest first; none where the ratio may be 1, fits nothing, or is known too
        badly (standard error above 3 %) to tell.

    Raises
    ------
    InvalidInput
        If the ratio is not positive and finite, or the standard error is negative or missing.

    Notes
    -----
    15 against 16.1 SHU per mg/kg (0.93) and mixed bases (0.906) lie 3 % apart: where both fit,
    both are named, and the laboratory's own statement decides.
    """
    _check_ratio(ratio)
    if not standard_error >= 0.0:
        raise InvalidInput(
            f"a standard error of {standard_error:g} is not possible.",
            where="slips",
            remedy="Give a standard error of zero or more.",
        )
    if standard_error > _LOOSEST or abs(math.log(ratio)) <= _COVERAGE * standard_error:
        return ()
    away = {slip: abs(math.log(ratio / slip.ratio)) for slip in FACTORS}
    allowed = _COVERAGE * math.hypot(standard_error, _LOOSENESS)
    # A ratio of no account is nearer to 1 than to any of them.
    fitting = [slip for slip in FACTORS if away[slip] <= min(allowed, abs(math.log(ratio)))]
    return tuple(sorted(fitting, key=away.__getitem__))


def contradiction(
    *, printed: float, computed: float, tolerance: float = 0.02
) -> Contradiction | None:
    """Whether a printed value departs from the one its parts give.

    Parameters
    ----------
    printed, computed
        Positive values in one unit.
    tolerance
        Largest relative departure that rounding explains.

    Returns
    -------
    Contradiction or None
        None where rounding explains the departure.

    Raises
    ------
    InvalidInput
        If a value is not positive and finite.
    """
    _check_ratio(printed, computed)
    deviation = computed / printed - 1.0
    if abs(deviation) <= tolerance:
        return None
    return Contradiction(printed=printed, computed=computed, deviation=deviation)


def _check_ratio(*values: float) -> None:
    for value in values:
        if not 0.0 < value < math.inf:
            raise InvalidInput(
                f"{value:g} has no ratio.", where="slips", remedy="Compare positive values only."
            )
