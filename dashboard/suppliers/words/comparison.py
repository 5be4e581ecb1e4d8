"""Suppliers against each other in short: who is consistent, drifting, believable, cheap."""

from typing import Final

import numpy as np

from dashboard.frame.words import count, listed
from dashboard.suppliers.words.differences import chance, currency, share, signed
from spc.answers.cost import CostOfHeat
from spc.answers.suppliers_compared import SuppliersCompared
from spc.compare.between_suppliers.crop_drift import CropDrift
from spc.compare.certificate_checks.certificate_comparison import CertificateComparison
from spc.digits import percent, written

_SURE: Final = 0.95
_LIKELY: Final = 0.5


def answer(told: SuppliersCompared) -> str:
    """Who is consistent, who drifts, whom to believe and what heat costs, in two sentences."""
    steady = f"{steadiest(told)}; {drifters(told)}."
    return f"{capital(steady)} {capital(f'{believed(told)}; {cheapest(told)}.')}"


def left_out(told: SuppliersCompared) -> str:
    """Lots that cannot be compared, and what that does; empty where there is none."""
    number = told.found.left_out
    if not number:
        return ""
    return (
        f"{count(number, 'lot')} beside the {len(told.found.lots)} compared"
        f" {'is' if number == 1 else 'are'} known as a bound only, below the quantification limit"
        " or above the calibrated range, and left out: means and spreads then miss the most"
        " extreme lots."
    )


def capital(text: str) -> str:
    """A sentence's first letter, large."""
    return text[:1].upper() + text[1:]


def steadiest(told: SuppliersCompared) -> str:
    """Who is the most consistent, and how surely."""
    chances = told.suppliers.ranking.most_consistent
    if np.isnan(chances).all():
        return "too few lots to say who is consistent"
    at = int(np.nanargmax(chances))
    name, sure = told.suppliers.supplier[at], float(chances[at])
    if sure < _LIKELY:
        return (
            f"nobody stands out as most consistent ({name} leads with a chance of {chance(sure)})"
        )
    surely = "is" if sure >= _SURE else "is probably"
    return f"{name} {surely} the most consistent (chance {chance(sure)})"


def uneven(told: SuppliersCompared) -> str:
    """Whose lots are uneven within themselves."""
    spread = dict(zip(told.within.supplier, told.within_a_lot[:, 0].tolist(), strict=True))
    others = [one for name, one in spread.items() if name not in told.uneven]
    return (
        "samples of one lot differ by "
        + listed([f"{percent(spread[name])} at {name}" for name in told.uneven])
        + f", and by {percent(np.nanmin(others))} to {percent(np.nanmax(others))} at the others"
    )


def drifters(told: SuppliersCompared) -> str:
    """Whose newest crop is another than the ones before."""
    crops = newest_crops(told)
    if not crops:
        said = "no newest crop has enough lots yet to say who drifts"
    elif not told.drifting:
        said = (
            f"no drift shows in the newest crop of {listed(list(crops))}"
            f" ({len(crops)} of {len(told.drift)} suppliers have lots enough to tell)"
        )
    else:
        said = listed(
            [
                f"{name} drifts, its crop {crops[name].crop} lying"
                f" {moved(crops[name].change, told)} the earlier ones"
                for name in told.drifting
            ]
        )
    return f"{said}; {uneven(told)}" if told.uneven else said


def believed(told: SuppliersCompared) -> str:
    """Whose certificates read high or low."""
    known = certified(told)
    if not known:
        return "no certificates can be compared with own results"
    if not told.biased:
        return f"no bias shows in the certificates of {listed(list(known))}"
    return listed(
        [f"certificates of {name} read {biased(known[name], told)}" for name in told.biased]
    )


def cheapest(told: SuppliersCompared) -> str:
    """From whom heat has cost least."""
    if not isinstance(told.cost_of_heat, CostOfHeat):
        return "what heat costs cannot be said"
    found = told.cost_of_heat.by_supplier
    return (
        f"heat has cost least from {found.supplier[0]},"
        f" {written(found.cost[0], unit=found.currency)} a thousand heat units"
    )


def newest_crops(told: SuppliersCompared) -> dict[str, CropDrift]:
    """Suppliers whose newest crop has lots enough to be compared."""
    return {
        name: one for name, one in told.drift.items() if isinstance(one, CropDrift) and one.enough
    }


def certified(told: SuppliersCompared) -> dict[str, CertificateComparison]:
    """Suppliers whose certificates can be compared."""
    return {
        name: one for name, one in told.belief.items() if isinstance(one, CertificateComparison)
    }


def moved(by: float, told: SuppliersCompared) -> str:
    """A change without its sign, in words."""
    return f"{signed(abs(by), told).removeprefix('+')} {'above' if by > 0.0 else 'below'}"


def biased(found: CertificateComparison, told: SuppliersCompared) -> str:
    """How far certificates read from own results, without a sign."""
    by = share(found.agreement.bias, told)
    return f"{signed(abs(by), told).removeprefix('+')} {'high' if by > 0.0 else 'low'}"


def columns(told: SuppliersCompared) -> str:
    """What the columns of a narrow table stand for."""
    return (
        "spread: how much lots differ; steadiest: chance of differing least; bias: of certificates;"
        f" cost: {currency(told)} a thousand heat units."
    )
