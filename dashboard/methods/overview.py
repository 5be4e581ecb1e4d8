"""The answer in words: how far off, how repeatable, whether a control sample signals."""

import numpy as np

from dashboard.methods import known
from dashboard.methods.words import controls, precision
from dashboard.methods.words import methods as words_methods
from spc.answers import adoptions
from spc.compare.between_methods.method_comparison import methods
from spc.errors import InvalidInput
from spc.intake.methods import MeasuringMethod
from spc.store import Store


def answer(store: Store, stated: MeasuringMethod) -> str:
    """What is known of a method, in a few sentences."""
    every = adoptions.mine(
        store.catalogue().corrections,
        method=stated.method,
        characteristic=stated.characteristic,
    )
    return " ".join(
        (
            _far_off(stated),
            _repeatable(stated),
            controls.watched(known.controls(stated)),
            words_methods.in_force(adoptions.newest(every, today=store.today())),
        )
    )


def _far_off(stated: MeasuringMethod) -> str:
    others = known.others(stated)
    if stated.standing == "reference":
        return words_methods.reference(stated.method)
    if not others:
        return words_methods.nothing_beside(stated.method)
    pairs = known.pairs(stated, others[0])
    unit, log = known.scale_of(stated)
    try:
        found = methods(
            pairs["x"].to_numpy(dtype=np.float64),
            pairs["y"].to_numpy(dtype=np.float64),
            kind="differences",
            scale="log" if log else "linear",
        )
    except InvalidInput:
        return words_methods.too_few_pairs(stated.method, others[0], len(pairs))
    return words_methods.far_off(found, method=stated.method, against=others[0], unit=unit)


def _repeatable(stated: MeasuringMethod) -> str:
    unit, log = known.scale_of(stated)
    try:
        found = known.spread(stated, "")
        found.sd_of(precision.READING)
    except InvalidInput:
        return words_methods.stated_only(stated, unit=unit)
    told = precision.between(found, precision.READING, log=log, unit=unit)
    return f"Readings of one bag scatter by {told}; stated is" + (
        f" {words_methods.figure(stated.repeatability, stated, unit=unit)}."
    )
