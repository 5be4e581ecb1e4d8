"""Sentences of a recipe: what can be made, why not, what holds it up, what to mind."""

import math
from collections.abc import Sequence
from typing import Final

from dashboard.frame.words import count, joined
from spc.answers.blends.order import BlendOrder
from spc.blend.outlook.learning import LearnedBias
from spc.blend.outlook.steps import Step
from spc.blend.problem.target import plain
from spc.blend.recipe import Recipe
from spc.digits import change, percent, written
from spc.errors import LotHeatError, NoRecipe

MIXING: Final = (
    "A blend does not cure a lot: food that breaks a limit of law may be neither mixed with food"
    " that keeps it nor used as an ingredient, whatever the mixture tests at (in the European Union"
    " Regulation (EU) 2023/915, Article 2). Follow local rules for what may become of such a lot."
)
RELEASE: Final = (
    "A recipe is a calculation, no release: the blend is a lot of its own, to be sampled, tested"
    " and released by a qualified person."
)
STEPS: Final = (
    "Each is the order solved anew with that one limit eased by the step, in the bags there are."
    " What is less than both proofs leave open is not said."
)
NO_PRICES: Final = "Limits have a price where a recipe is made for the least cost."
NOTHING_SAVED: Final = "No step of a limit saves more than the proof of the recipe leaves open."
# Both ends of a saving are named from this share of it between them.
TOLD_APART: Final = 0.05
PICTURE: Final = (
    "Each bar stands at the heat of a lot and is as high as its kilograms, filled as far as the"
    " recipe takes them; the broken lines are the window asked for, the curve above is where the"
    " true heat of the blend may lie."
)
ODDS_OF_LIMITS: Final = (
    "Chance, at least, that the blend truly lies inside; empty where the best estimate is enough."
)
AIM_WORDS: Final = {
    "cost": "least cost",
    "nearest": "nearest to the target",
    "oldest first": "oldest stock first",
    "least spread": "least uncertainty",
}
NOT_PROVEN: Final = (
    "None of these could be left out; whether fewer others conflict was not settled in time."
)
_SIGNS: Final = {"EUR": "€", "GBP": "£", "USD": "$"}


def money(amount: float, currency: str, *, per: str = "") -> str:
    """An amount with its currency: ``"€4.31/kg"``; a dash where it is not known."""
    if math.isnan(amount):
        return "–"
    sign = _SIGNS.get(currency, f"{currency} " if currency else "")
    minus = "−" if amount < 0.0 else ""
    size = plain(round(abs(amount), 2))
    whole, _, cents = size.partition(".")
    return f"{minus}{sign}{whole}.{cents:0<2}{f'/{per}' if per else ''}"


def asked(order: BlendOrder) -> str:
    """The target of heat with its window."""
    dry = " dry" if order.basis == "dry" else ""
    below, above = 1.0 - order.lower / order.heat, order.upper / order.heat - 1.0
    if math.isclose(below, above, abs_tol=1e-9):
        return f"{plain(order.heat)} {order.unit}{dry} ± {plain(round(100.0 * below, 4))} %"
    return f"{plain(order.lower)} to {plain(order.upper)} {order.unit}{dry}"


def answer(order: BlendOrder, found: Recipe, *, currency: str) -> str:
    """What can be made, from what, for what, and how sure."""
    return (
        f"**{asked(order)} can be made today from {count(found.portions.lot.size, 'lot')} for"
        f" {money(found.cost_per_kg, currency, per='kg')}; the odds that its true heat lies inside"
        f" are {percent(found.predicted[0].odds)}.**"
    )


def no_answer(order: BlendOrder, problem: LotHeatError) -> str:
    """Why nothing can be made, and what would help."""
    if not isinstance(problem, NoRecipe):
        return f"**{asked(order)} was not worked out:** {problem.what} {problem.remedy}"
    together = "cannot be kept" + (" together" if len(problem.conflict) > 1 else "")
    odds = "" if order.odds is None else f" at odds of {percent(order.odds)}"
    fewer = "" if problem.smallest else f" {NOT_PROVEN}"
    return (
        f"**{asked(order)}{odds} cannot be made today:** {joined(problem.conflict)} {together}."
        f"{fewer}"
    )


def cures(problem: NoRecipe) -> str:
    """What would make a recipe possible."""
    if not problem.cures:
        return "No single change that was tried would help; relax more than one of them."
    one = " ".join(problem.cures)
    return f"Any one of these would help: {one}" if len(problem.cures) > 1 else one


def proven(found: Recipe) -> str:
    """How near to the best the recipe is proven to be."""
    aim = AIM_WORDS[found.aim]
    if found.gap < 5e-5:
        return f"Proven to be the best there is ({aim})."
    return f"Proven to be within {percent(found.gap)} of the best there is ({aim})."


def summary(found: Recipe, *, currency: str) -> str:
    """Size, cost and proof in a sentence."""
    return (
        f"{plain(round(found.batch_kg, 3))} kg for {money(found.cost, currency)}. {proven(found)}"
        f" All limits together are kept with odds of {percent(found.odds)} if the characteristics"
        " are independent, and of at least"
        f" {percent(found.odds_at_least)} whatever links them."
    )


def binding(tried: Sequence[Step], *, currency: str) -> list[str]:
    """What a step of each limit that holds the cost up saves, a sentence each."""
    return [_priced(one, currency) for one in tried]


def _priced(one: Step, currency: str) -> str:
    subject = f"{one.constraint[0].upper()}{one.constraint[1:]}"
    verb = "save" if one.saved > 0.0 else "cost"
    least, most = sorted((abs(one.least), abs(one.most)))
    ends = f" ({money(least, currency)} to {money(most, currency)})"
    open_to = ends if most - least > TOLD_APART * most else ""
    return f"{subject}: {one.step} would {verb} {money(abs(one.saved), currency)}{open_to}."


def left_out(lots: int, used_up: int) -> str:
    """How many lots are not offered."""
    if not lots:
        return "Every lot of which something is there is offered."
    verb = "is" if lots == 1 else "are"
    gone = (
        f" Another {count(used_up, 'lot')} of the books {'is' if used_up == 1 else 'are'} used up."
    )
    return f"{count(lots, 'lot')} {verb} not offered.{gone if used_up else ''}"


def portions(found: Recipe) -> str:
    """The recipe in one line, for those who cannot see the picture."""
    taken = found.portions
    return joined(
        [
            f"{written(float(kg))} kg of {lot}"
            for lot, kg in zip(taken.lot.tolist(), taken.kg.tolist(), strict=True)
        ]
    )


def learnt_in_recipe(bias: LearnedBias) -> str:
    """That a correction is in the heat of the lots; empty where none is."""
    if not bias.can_be_said:
        return ""
    share = math.expm1(bias.bias) if bias.scale == "log" else bias.bias
    return (
        f"The heat of every lot is moved by {change(share)}, as {count(bias.blends, 'blend')}"
        " measured so far came out."
    )
