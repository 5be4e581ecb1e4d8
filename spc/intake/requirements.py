"""Lines of a specification as a catalogue states them, and what keeps one from being judged."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from spc.acceptance import Line
from spc.acceptance.plans.variables import FEWEST_SIGMA_UNKNOWN
from spc.errors import BadCatalogue
from spc.intake.entries import misfit

# What a plan of each kind of line needs.
_PLANS: Final[Mapping[str, tuple[str, ...]]] = {
    "proportion": ("plan_n", "plan_k"),
    "count": ("plan_n", "plan_c"),
}


def line(entry: Mapping[str, Any], *, unit: str, scale: str, where: str) -> Line:
    """A line from its TOML table.

    Parameters
    ----------
    entry
        Key to value, as TOML gives them.
    unit, scale
        Of its characteristic.
    where
        Material and characteristic, in words.

    Raises
    ------
    BadCatalogue
        If a key is missing or means nothing, or limits, risks, rule and plan do not go together.
    """
    full = {**entry, "unit": unit, "scale": scale}
    wrong = misfit(Line, full)
    if not wrong:
        found = Line(**full)
        wrong = next(filter(None, _faults(found)), "")
        if not wrong:
            return found
    raise bad(wrong, where=where)


def bad(what: str, *, where: str) -> BadCatalogue:
    """The refusal of a catalogue, with what is wrong and where."""
    return BadCatalogue(
        what, where=where, remedy="Correct the catalogue and receive it again; nothing was stored."
    )


def _faults(one: Line) -> Iterable[str]:
    yield _limits(one)
    yield _risks(one)
    yield _plan_given(one)
    yield _plan_possible(one)
    yield _decision(one)


def _limits(one: Line) -> str:
    limits = [each for each in (one.lower, one.upper) if each is not None]
    if one.requirement != "absent" and not limits:
        return "it has neither a lower nor an upper limit."
    if one.scale == "log" and any(each <= 0 for each in limits):
        return "a limit of zero or less has no logarithm."
    if limits != sorted(limits):
        return "its lower limit lies above its upper one."
    if one.requirement == "proportion" and len(set(limits)) < len(limits):
        return "a proportion line needs its lower limit below its upper one."
    return ""


def _risks(one: Line) -> str:
    if not (0.0 < one.consumer_risk < 0.5 and 0.0 < one.producer_risk < 0.5):
        return "a risk must lie between 0 and 0.5."
    return ""


def _plan_given(one: Line) -> str:
    needed = _PLANS.get(one.requirement, ())
    article = "an" if one.requirement in ("average", "absent") else "a"
    for name in ("plan_n", "plan_k", "plan_c"):
        said = getattr(one, name) is not None
        if name in needed and not said:
            return f"a {one.requirement} line needs {' and '.join(needed)}; {name} is missing."
        if said and name not in needed:
            return f"{article} {one.requirement} line has no {name}."
    return ""


def _plan_possible(one: Line) -> str:
    if one.plan_n is None:
        return ""
    if one.plan_k is not None and one.plan_n < FEWEST_SIGMA_UNKNOWN:
        return f"plan_n must be {FEWEST_SIGMA_UNKNOWN} or more to show a spread."
    if one.plan_c is not None and not 0 <= one.plan_c < one.plan_n:
        return "plan_c must be 0 or more, and less than plan_n."
    return ""


def _decision(one: Line) -> str:
    if one.requirement == "average":
        return ""
    if one.rule != "two risks":
        return f"a rule such as {one.rule!r} is for average lines; this one is {one.requirement!r}."
    if one.each_sample:
        return f"each_sample is for average lines; this one is {one.requirement!r}."
    return ""
