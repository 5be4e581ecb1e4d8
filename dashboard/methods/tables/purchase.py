"""What could be bought next, and where the uncertainty comes from now."""

import math

import pandas as pd

from dashboard.methods.words.precision import size
from dashboard.methods.words.purchase import design, option_words
from spc.compare.spread.purchase import Purchase
from spc.compare.spread.sampling_spread import PARTS
from spc.digits import percent, written


def purchase_table(found: Purchase, *, log: bool, unit: str) -> pd.DataFrame:
    """What could be bought next, best first."""
    return pd.DataFrame(
        [
            {
                "buys": option_words(one.bought),
                "taken off by a euro": _fine(one.drop_per_cost, log=log, unit=unit),
                "costs more (€)": f"{one.cost:.2f}",
                "taken off": _fine(one.uncertainty_drop, log=log, unit=unit),
                "standard uncertainty then": _fine(one.uncertainty, log=log, unit=unit),
                "then": design(one.design),
            }
            for one in found.options
        ]
    )


def _fine(sd: float, *, log: bool, unit: str) -> str:
    """With the digits that tell one option from the next."""
    return written(100.0 * sd, unit="%") if log else written(sd, unit=unit)


def parts_table(found: Purchase, *, log: bool, unit: str) -> pd.DataFrame:
    """Where the uncertainty of a lot's mean comes from, as sampled now."""
    whole = float(found.parts.sum())
    return pd.DataFrame(
        {
            "from": PARTS,
            "standard uncertainty": [
                size(math.sqrt(part), log=log, unit=unit) for part in found.parts
            ],
            "share of variance": [percent(float(part) / whole) for part in found.parts],
        }
    )
