"""Four questions in full: who is consistent, who drifts, whom to believe, what heat costs."""

import math
from typing import Final

import numpy as np

from dashboard.frame.words import count, listed
from dashboard.suppliers.words.comparison import (
    biased,
    capital,
    certified,
    cheapest,
    moved,
    newest_crops,
    steadiest,
    uneven,
)
from dashboard.suppliers.words.differences import between, nearness, share, signed
from spc.answers.cost import CostOfHeat
from spc.answers.suppliers_compared import SuppliersCompared, leaves_zero_out
from spc.compare.between_suppliers.consistency import FEWEST_FOR_CONSISTENCY
from spc.compare.between_suppliers.crop_drift import FEWEST_LOTS, CropDrift
from spc.compare.certificate_checks.certificate_comparison import CertificateComparison
from spc.digits import percent, written

RISK: Final = 0.05


def consistency(told: SuppliersCompared) -> str:
    """How much the lots of each supplier differ, and the samples of one lot."""
    test, enough = told.suppliers.consistency, told.suppliers.enough_for_consistency
    spread = np.where(enough, told.between_lots[:, 0], np.nan)
    if test is None or np.isnan(spread).all():
        needed = f"it takes two suppliers with {FEWEST_FOR_CONSISTENCY} lots each"
        said = [f"{capital(steadiest(told))}: {needed}."]
    else:
        least, most = int(np.nanargmin(spread)), int(np.nanargmax(spread))
        names = told.suppliers.supplier
        verdict = "differ" if test.p_value < RISK else "cannot be told apart"
        said = [
            f"Lots of one supplier differ by {percent(spread[least])} ({names[least]}) to"
            f" {percent(spread[most])} ({names[most]}). These spreads {verdict}: with one for all,"
            f" they would differ as much in {percent(test.p_value)} of cases (Brown and Forsythe's"
            " test)."
        ]
    if told.uneven:
        said.append(f"{capital(uneven(told))}.")
    return " ".join(said)


def drift(told: SuppliersCompared) -> str:
    """The newest crop of each supplier against its earlier ones."""
    said = [
        f"Crop {crop.crop} from {name} lies {moved(crop.change, told)} its earlier crops"
        f" ({between(crop.interval.low, crop.interval.high, told)};"
        f" {count(crop.lots, 'lot')} against {crop.before}){_onward(crop, told)}."
        for name, crop in newest_crops(told).items()
        if name in told.drifting
    ]
    steady = [name for name in newest_crops(told) if name not in told.drifting]
    if steady:
        said.append(f"No change shows for {listed(steady)}.")
    silent = [name for name in told.drift if name not in newest_crops(told)]
    if silent:
        said.append(
            f"Of {listed(silent)} nothing can be said: it takes {FEWEST_LOTS} lots of the newest"
            " crop, and as many before."
        )
    return " ".join(said)


def belief(told: SuppliersCompared) -> str:
    """What the certificates of each supplier are worth."""
    said = [bias(name, told) for name in told.biased]
    honest = {
        name: found.next.chance
        for name, found in certified(told).items()
        if name not in told.biased
    }
    if honest:
        first = max(honest, key=honest.__getitem__)
        said.append(
            f"No bias shows for {listed(list(honest))}. The next certificate of {first} lies"
            f" within {nearness(told)} of the own result with a chance of {percent(honest[first])}"
            f"{'' if len(honest) == 1 else ', the highest'}."
        )
    silent = [name for name in told.belief if name not in certified(told)]
    if silent:
        said.append(f"Of certificates from {listed(silent)} nothing can be said.")
    return " ".join(said)


def bias(name: str, told: SuppliersCompared) -> str:
    """What the certificates of one supplier read, and what would explain it; empty if not known."""
    found = told.belief[name]
    if isinstance(found, str):
        return ""
    ends = found.agreement.bias_interval
    reads = f"read {biased(found, told)}" if name in told.biased else "show no bias"
    return (
        f"Certificates of {name} {reads}"
        f" ({between(share(ends.low, told), share(ends.high, told), told)};"
        f" {count(found.agreement.lots, 'lot')})."
        f" {_cause(found) if name in told.biased else ''}"
    ).strip()


def cost(told: SuppliersCompared) -> str:
    """What heat costs from whom."""
    if not isinstance(told.cost_of_heat, CostOfHeat):
        return told.cost_of_heat
    found = told.cost_of_heat.by_supplier
    first = (
        f"{capital(cheapest(told))} ({written(found.low[0])} to"
        f" {written(found.high[0], unit=found.currency)})."
    )
    if found.supplier.size == 1:
        return first
    near = [str(name) for name in found.supplier[1:][~(found.low[1:] > found.high[0])]]
    if math.isnan(found.high[0]) or near:
        return (
            f"{first} Prices and heats scatter too much to say that it costs more from"
            f" {listed(near) if near else 'the others'}."
        )
    return f"{first} From every other supplier it has cost more."


def level(told: SuppliersCompared) -> str:
    """Whether suppliers differ in level."""
    tests = told.suppliers.levels
    if tests is None:
        return "Fewer than two suppliers have enough lots, so no levels are compared."
    found = tests.welch
    differ = "Suppliers differ in level" if found.p_value < RISK else "No level stands apart"
    return (
        f"{differ}: if all had one mean, means as far apart as these would come in"
        f" {percent(found.p_value)} of cases (Welch's test, F = {found.statistic:.2f} with"
        f" {found.degrees_between:g} and {found.degrees_within:.1f} degrees of freedom; drawn"
        f" {percent(tests.simulated.p_value)}). By ranks, which no shape of the values misleads,"
        f" {percent(tests.ranks.p_value)} (Kruskal and Wallis's H = {tests.ranks.statistic:.2f})."
    )


def _onward(crop: CropDrift, told: SuppliersCompared) -> str:
    ends = crop.per_lot_interval
    if not leaves_zero_out(ends):
        return ""
    return (
        f" and goes on by {signed(crop.per_lot, told)} from lot to lot"
        f" ({between(ends.low, ends.high, told)})"
    )


def _cause(found: CertificateComparison) -> str:
    if found.scale != "log":
        return ""
    if not found.causes:
        return "No known factor or basis explains it."
    said = " Or: ".join(f"{one.cause}; check {one.check}." for one in found.causes)
    return f"Likely cause: {said}"


def unsaid_of(name: str, told: SuppliersCompared) -> list[str]:
    """What cannot be said of one supplier, and why."""
    said = [
        one
        for one in told.suppliers.reasons
        if one.startswith(f"{name} has ") or f" lots of {name} have " in one
    ]
    crop, found = told.drift[name], told.belief[name]
    if isinstance(crop, str):
        said.append(f"Drift: {crop}")
    elif not crop.enough:
        said.append(
            f"Drift: {count(crop.lots, 'lot')} of crop {crop.crop} and {crop.before} before it;"
            f" it takes {FEWEST_LOTS} of each."
        )
    if isinstance(found, str):
        said.append(f"Certificates: {found}")
    if (
        isinstance(told.cost_of_heat, CostOfHeat)
        and name not in told.cost_of_heat.by_supplier.supplier
    ):
        said.append("Cost: no lot has price, quantity and heat.")
    return said
