"""The answer in words: how far off, how repeatable, whether a control sample signals."""

from dashboard.methods import known
from dashboard.methods.words import comparisons, controls, corrections, precision, stated_figures
from spc.answers.method_comparisons import mean_difference
from spc.answers.method_spread import READING
from spc.answers.methods import corrections_of_method
from spc.errors import InvalidInput
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def answer(store: Store, stated: MeasuringMethod) -> str:
    """What is known of a method, in a few sentences."""
    return " ".join(
        (
            _far_off(stated),
            _repeatable(stated),
            controls.watched(known.controls(stated)),
            corrections.in_force(corrections_of_method(store, stated).in_force),
        )
    )


def _far_off(stated: MeasuringMethod) -> str:
    others = known.others(stated)
    if stated.standing == "reference":
        return comparisons.reference(stated.method)
    if not others:
        return comparisons.nothing_beside(stated.method)
    pairs = known.pairs(stated, others[0])
    scale = known.scale_of(stated)
    try:
        found = mean_difference(pairs, log=scale.log)
    except InvalidInput:
        return comparisons.too_few_pairs(stated.method, others[0], len(pairs))
    return comparisons.far_off(found, method=stated.method, against=others[0], unit=scale.unit)


def _repeatable(stated: MeasuringMethod) -> str:
    scale = known.scale_of(stated)
    try:
        found = known.spread(stated, "")
        found.sd_of(READING)
    except InvalidInput:
        return stated_figures.stated_only(stated, unit=scale.unit)
    told = precision.between(found, READING, log=scale.log, unit=scale.unit)
    return f"Readings of one bag scatter by {told}; stated is" + (
        f" {stated_figures.figure(stated.repeatability, stated, unit=scale.unit)}."
    )
