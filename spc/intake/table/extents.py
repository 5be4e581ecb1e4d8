"""Values that nothing can have: a share above the whole, a pH of 20, a size of nought."""

import numpy as np
import pandas as pd

from spc.digits import written
from spc.intake.catalogue import Catalogue
from spc.intake.characteristics import Characteristic
from spc.intake.checks.holds import Holds


def hold_beyond_extent(results: pd.DataFrame, catalogue: Catalogue, holds: Holds) -> None:
    """Hold the rows with a value outside of what its characteristic can be at all.

    Parameters
    ----------
    results
        Derived, indexed by source row.
    """
    for one in catalogue.characteristics:
        if one.kind == "quantity":
            _hold(results, one, holds)


def _hold(results: pd.DataFrame, one: Characteristic, holds: Holds) -> None:
    lowest, highest = one.extent
    mine = results["characteristic"] == one.characteristic
    if not mine.any():
        return
    low, high = results["value_low"], results["value_high"]
    too_low = high < lowest if one.can_be_lowest else high <= lowest
    holds.add(
        mine & (too_low | (low > highest)),
        "impossible-value",
        about=low.where(low > highest, high),
        reason=lambda value: (
            f"{one.characteristic} comes to {written(value, unit=one.unit)}, and nothing can have"
            f" that ({_words(one)})."
        ),
        remedy="Compare the unit and the decimal sign with the source's own report, and correct the"
        " cell on Intake.",
    )


def _words(one: Characteristic) -> str:
    lowest, highest = one.extent
    if np.isinf(highest):
        more = f"{lowest:g} {one.unit} or more"
        return more if one.can_be_lowest else f"more than {lowest:g} {one.unit}"
    return f"{lowest:g} to {highest:g} {one.unit}"
