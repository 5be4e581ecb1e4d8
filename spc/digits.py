"""Numbers as people read them: grouped, and with no more digits than their uncertainty allows."""

import math
from typing import Final

THIN: Final = "\N{NARROW NO-BREAK SPACE}"
_OF_UNCERTAINTY: Final = 2
_WITHOUT_UNCERTAINTY: Final = 3


def written(value: float, *, uncertainty: float | None = None, unit: str = "") -> str:
    """A value with its unit, rounded to the second digit of its standard uncertainty.

    Parameters
    ----------
    value
        In `unit`.
    uncertainty
        Standard uncertainty in `unit`; without it three significant digits are shown.
    unit
        Printed after the number.

    Returns
    -------
    str
        For example ``"182 000 SHU"``; ``"more than ..."`` and the like are the caller's.  A dash
        stands for a value that is missing (NaN).

    References
    ----------
    JCGM 100:2008, clause 7.2.6: an uncertainty needs at most two significant digits, and the
    value is rounded to the same place.
    """
    if math.isnan(value):
        return f"– {unit}".strip()
    sign = "−" if value < 0.0 else ""
    if math.isinf(value):
        return f"{sign}∞ {unit}".strip()
    place = _last_place(value, uncertainty)
    size = round(abs(value), place)
    text = f"{size:,.{max(place, 0)}f}".replace(",", THIN)
    return f"{sign if size else ''}{text} {unit}".strip()


def percent(share: float) -> str:
    """A probability in per cent, never rounded up to certainty nor down to impossibility.

    Parameters
    ----------
    share
        From 0 to 1.

    Returns
    -------
    str
        With one decimal below 10 % and above 90 %, for example ``"97.5 %"``.
    """
    if share >= 1.0 or share <= 0.0:
        return f"{100.0 * share:.0f} %"
    if share > 0.999:
        return "over 99.9 %"
    if share < 0.001:
        return "under 0.1 %"
    return f"{100.0 * share:.1f} %" if share < 0.1 or share > 0.9 else f"{100.0 * share:.0f} %"


def change(share: float) -> str:
    """A deviation in per cent with its sign.

    Parameters
    ----------
    share
        Of what it deviates from: 0.08 is 8 % more.

    Returns
    -------
    str
        With one decimal below 10 %, for example ``"+8.1 %"`` or ``"−23 %"``.
    """
    if not math.isfinite(share):
        return "– %"
    size = abs(100.0 * share)
    text = f"{size:.1f}" if round(size, 1) < 10.0 else f"{size:.0f}"
    sign = "" if float(text) == 0.0 else "−" if share < 0.0 else "+"
    return f"{sign}{text} %"


def _last_place(value: float, uncertainty: float | None) -> int:
    """Decimal places to keep; negative ones round to tens, hundreds and so on."""
    if uncertainty is not None and 0.0 < uncertainty < math.inf:
        return _place_of(uncertainty, significant=_OF_UNCERTAINTY)
    return 0 if value == 0.0 else _place_of(abs(value), significant=_WITHOUT_UNCERTAINTY)


def _place_of(size: float, *, significant: int) -> int:
    # Rounded first: 9.96 has its second significant digit at the ones, not at the tenths.
    exponent = int(f"{size:.{significant - 1}e}".partition("e")[2])
    return significant - 1 - exponent
