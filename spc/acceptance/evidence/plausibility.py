"""Whether a reported value can be what it says: against its own parts, and against the material."""

import math
from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import Final

from spc import heat
from spc.acceptance.evidence.evidence import LotMean
from spc.acceptance.evidence.flags import Flag
from spc.acceptance.evidence.slips import Contradiction, contradiction
from spc.digits import written

# Common practice, no source: g/100 g that a material of each form can have.  Wide on purpose, so
# that only a slip of the decimal sign or the wrong material falls outside; settable per material.
MOISTURE_BY_FORM: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {
        "powder": (2.0, 20.0),
        "flakes": (2.0, 22.0),
        "mash": (50.0, 98.0),
        "oleoresin": (0.0, 6.0),
    }
)


def total_contradiction(
    parts: Mapping[str, float], *, total: float, tolerance: float = 0.02
) -> Contradiction | None:
    """Whether a printed total departs from the sum of its parts.

    Parameters
    ----------
    parts
        Content by compound.
    total
        As printed, in the unit of the parts.
    tolerance
        Largest relative departure that rounding explains.

    Returns
    -------
    Contradiction or None
        None where rounding explains the departure.

    Raises
    ------
    InvalidInput
        If the total or the sum is not positive and finite.

    Notes
    -----
    A compound below its quantification limit belongs in the sum with neither nought nor the
    limit; leave such a profile out, or widen the tolerance by the limit's share.

    References
    ----------
    González-Zamora et al., J. Chemistry 2015, 709150, whose totals are the sums of three parts.
    """
    return contradiction(printed=total, computed=math.fsum(parts.values()), tolerance=tolerance)


def heat_contradiction(
    parts: Mapping[str, float],
    *,
    shu: float,
    factors: Mapping[str, float] = heat.PROFILE_FACTORS,
    tolerance: float = 0.02,
) -> Contradiction | None:
    """Whether a printed heat departs from what the contents give.

    Parameters
    ----------
    parts
        Content by compound in mg/kg, on the basis of `shu`; or the total alone, with its factor.
    shu
        As printed, in SHU.
    factors
        SHU per mg/kg by compound, as the laboratory states them.
    tolerance
        Largest relative departure that rounding explains.

    Returns
    -------
    Contradiction or None
        None where rounding explains the departure.

    Raises
    ------
    MissingFactor
        If a compound has no factor.
    InvalidInput
        If a heat is not positive and finite, or no content is given.

    References
    ----------
    González-Zamora et al., J. Chemistry 2015, 709150: the factors, and the one row (118.93 mg/g
    against 2 468 807 SHU) that contradicts them.
    """
    computed = float(heat.scoville_profile(parts, factors=factors))
    return contradiction(printed=shu, computed=computed, tolerance=tolerance)


def moisture(water: LotMean, *, expected: tuple[float, float] | None) -> Iterable[Flag]:
    """The moisture is one that the material cannot have.

    Parameters
    ----------
    water
        The lot's own moisture, g/100 g.
    expected
        Lowest and highest to be expected; None where none is known.

    Returns
    -------
    iterable of Flag
        One at most; a moisture known on one side only is left alone.
    """
    if expected is None or water.is_open or expected[0] <= water.value <= expected[1]:
        return
    found = written(water.value, uncertainty=water.uncertainty_in_unit, unit=water.unit)
    yield Flag(
        name="possible slip",
        sentence=f"{water.characteristic}: {found} by {water.method.method} is not plausible for"
        f" this material ({expected[0]:g} to {expected[1]:g} {water.unit} is usual). Check the"
        " decimal sign, the unit, and whether it is this material.",
    )
