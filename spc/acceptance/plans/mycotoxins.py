"""The European Union's table of increments for mycotoxins in dried spices."""

import math
from dataclasses import dataclass
from typing import Final

from spc.errors import InvalidInput

SUB_LOT_FROM_T: Final = 15.0
SUB_LOT_T: Final = 25.0
# The mass of a sub-lot may exceed 25 t by this share.
SUB_LOT_EXCESS: Final = 0.2


@dataclass(frozen=True, slots=True, kw_only=True)
class MycotoxinRow:
    """One row of the table.

    Attributes
    ----------
    part
        Of Annex I: ``"E"`` for whole and flaked spices, ``"M"`` for powders.
    upto_t
        Largest lot the row holds for, in tonnes.
    increments, increment_kg, aggregate_kg
        Number and mass of increments, and mass of all of them together.
    """

    part: str
    upto_t: float
    increments: int
    increment_kg: float
    aggregate_kg: float


def _rows(
    part: str, increment_kg: float, *rows: tuple[float, int, float]
) -> tuple[MycotoxinRow, ...]:
    return tuple(
        MycotoxinRow(
            part=part,
            upto_t=upto,
            increments=count,
            increment_kg=increment_kg,
            aggregate_kg=aggregate,
        )
        for upto, count, aggregate in rows
    )


# Regulation (EU) 2023/2782, Annex I, parts E and M, applies since 1 April 2024, amended by
# (EU) 2024/885.  The last row of each part also holds for every sub-lot of a larger lot.
WHOLE_AND_FLAKED: Final = _rows(
    "E",
    0.1,
    (0.01, 5, 0.5),
    (0.1, 10, 1.0),
    (0.2, 15, 1.5),
    (0.5, 20, 2.0),
    (1.0, 30, 3.0),
    (2.0, 40, 4.0),
    (5.0, 60, 6.0),
    (10.0, 80, 8.0),
    (math.inf, 100, 10.0),
)
POWDERED: Final = _rows(
    "M",
    0.08,
    (0.1, 3, 0.2),
    (0.5, 10, 0.8),
    (5.0, 25, 2.0),
    (10.0, 35, 2.8),
    (math.inf, 50, 4.0),
)
_PARTS: Final = {"whole": WHOLE_AND_FLAKED, "flakes": WHOLE_AND_FLAKED, "powder": POWDERED}


def mycotoxin_row(lot_t: float, form: str) -> MycotoxinRow:
    """The row of the table that holds for a lot, or for each of its sub-lots.

    Parameters
    ----------
    lot_t
        Mass of the lot in tonnes.
    form
        ``"whole"``, ``"flakes"`` or ``"powder"``.

    Returns
    -------
    MycotoxinRow

    Raises
    ------
    InvalidInput
        If the form has no table.

    References
    ----------
    Regulation (EU) 2023/2782, Annex I, parts E and M.
    """
    if form not in _PARTS:
        raise InvalidInput(
            f"form {form!r} has no table of increments.",
            where="sampling helper",
            remedy=f"Use one of: {', '.join(_PARTS)}.",
        )
    return next(row for row in _PARTS[form] if lot_t <= row.upto_t)


def sub_lots(lot_t: float) -> int:
    """The fewest sub-lots that a lot is divided into.

    Parameters
    ----------
    lot_t
        Mass of the lot in tonnes.

    Returns
    -------
    int
        1 for a lot below 15 t; above, each is of about 25 t and at most a fifth more.

    References
    ----------
    Regulation (EU) 2023/2782, Annex I, parts E and M.
    """
    if lot_t < SUB_LOT_FROM_T:
        return 1
    return math.ceil(lot_t / (SUB_LOT_T * (1.0 + SUB_LOT_EXCESS)))
