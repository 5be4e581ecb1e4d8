"""What the print of decimal numbers tells: the place they are rounded to, and the step."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

import numpy as np
from numpy.typing import NDArray

from spc.errors import InvalidInput


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PrintedDigits:
    """How finely values are printed.

    Attributes
    ----------
    place
        Unit of the last printed digit: 100 where all values are full hundreds, 0.01 where two
        decimals are printed.
    step
        The largest number that all values are multiples of: 500 where they end in 000 and 500.
    value : shape (values,)
        The numbers.
    last_digit : shape (values,)
        The digit at `place`.
    """

    place: float
    step: float
    value: NDArray[np.float64]
    last_digit: NDArray[np.int64]


def printed_digits(texts: Sequence[str]) -> PrintedDigits:
    """The place, the step and the last digits of printed numbers.

    Parameters
    ----------
    texts
        Plain decimals, at least one of them not zero.

    Returns
    -------
    PrintedDigits

    Raises
    ------
    InvalidInput
        If a text is no plain decimal, or all are zero.

    Notes
    -----
    Where decimals are printed, their zeros are digits; the zeros that all whole numbers end in
    are taken for rounding.
    """
    numbers = [_decimal(text) for text in texts]
    exponents = [_exponent(number) for number in numbers]
    if min(exponents, default=0) >= 0:
        exponents = [_exponent(number.normalize()) for number in numbers if number]
    if not any(numbers):
        raise InvalidInput(
            "no printed value differs from zero.",
            where="printed values",
            remedy="Give the declared values as they are printed.",
        )
    place = min(exponents)
    whole = [abs(int(number.scaleb(-place))) for number in numbers]
    return PrintedDigits(
        place=float(Decimal(1).scaleb(place)),
        step=float(Decimal(math.gcd(*whole)).scaleb(place)),
        value=np.array([float(number) for number in numbers]),
        last_digit=np.array([number % 10 for number in whole], dtype=np.int64),
    )


def _decimal(text: str) -> Decimal:
    try:
        number = Decimal(text)
    except InvalidOperation:
        number = Decimal("NaN")
    if number.is_finite():
        return number
    raise InvalidInput(
        f"{text!r} is not a plain decimal number.",
        where="printed values",
        remedy='Write it as in "41300" or "9.40".',
    )


def _exponent(number: Decimal) -> int:
    return int(number.as_tuple().exponent)
