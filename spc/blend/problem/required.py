"""From the product back to the blend: which heat, and within which window."""

import math
from dataclasses import dataclass

from spc.charts.refusals import refuse_outside
from spc.errors import InvalidInput


@dataclass(frozen=True, slots=True, kw_only=True)
class RequiredHeat:
    """What a blend must have so that its product has what it should, in SHU.

    Attributes
    ----------
    target, lower, upper
        Heat of the blend, and the window in which its product stays within its own.
    share
        Of the blend in the product.
    """

    target: float
    lower: float
    upper: float
    share: float

    @property
    def within(self) -> float:
        """Half of the window as a share of the target."""
        return (self.upper - self.lower) / 2.0 / self.target


def required_heat(
    product_shu: float,
    share: float,
    *,
    tolerance: float = 0.1,
    other_shu: float = 0.0,
    share_tolerance: float = 0.0,
) -> RequiredHeat:
    """The heat of a blend that gives a product its heat.

    Parameters
    ----------
    product_shu
        Heat that the product should have, SHU.
    share
        Part of the product's mass that is blend, above 0 and up to 1.
    tolerance
        By which the product's heat may be off, as a share of it.
    other_shu
        What all other ingredients together add to the product's heat, SHU of the product.
    share_tolerance
        By which the blend's share may be off when the product is made, as a share of it; the
        window holds for every share within.

    Returns
    -------
    RequiredHeat

    Raises
    ------
    InvalidInput
        If a figure is not possible, the other ingredients alone are as hot as the product, or no
        window is left once the share's own tolerance is allowed for.

    Notes
    -----
    Heat mixes by mass: product = share x blend + others.
    """
    refuse_outside(product_shu, 0.0, math.inf, name="product_shu", where="required_heat")
    if not (0.0 < share <= 1.0 and other_shu >= 0.0):
        raise _refused(
            f"a share of {share:g} with {other_shu:g} SHU from others is not possible.",
            "Give a share above 0 and up to 1, and other heat of zero or more.",
        )
    if not (0.0 < tolerance < 1.0 and 0.0 <= share_tolerance < 1.0):
        raise _refused(
            f"tolerances of {tolerance:g} and {share_tolerance:g} are not possible.",
            "Give the heat's tolerance between 0 and 1, and the share's from 0 to below 1.",
        )
    lower = (product_shu * (1.0 - tolerance) - other_shu) / (share * (1.0 - share_tolerance))
    upper = (product_shu * (1.0 + tolerance) - other_shu) / (share * (1.0 + share_tolerance))
    target = (product_shu - other_shu) / share
    if target <= 0.0:
        raise _refused(
            f"the other ingredients alone give {other_shu:g} of {product_shu:g} SHU.",
            "Use less of them, or aim for a hotter product.",
        )
    if not max(lower, 0.0) < upper:
        raise _refused(
            "no window is left for the blend once its share may be off so far.",
            "Weigh the blend into the product more exactly, or allow the product more.",
        )
    return RequiredHeat(target=target, lower=max(lower, 0.0), upper=upper, share=share)


def _refused(what: str, remedy: str) -> InvalidInput:
    return InvalidInput(what, where="required_heat", remedy=remedy)
