"""A blend as it was planned: what was asked, the recipe, and what was predicted of it."""

import json
import math
from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from spc.errors import InvalidInput, UnknownName
from spc.intake import Catalogue
from spc.store.blends import stock_moves
from spc.store.record import audit


@dataclass(frozen=True, slots=True, kw_only=True)
class Portion:
    """What a recipe takes of one lot.

    Attributes
    ----------
    bags
        Whole bags among the kilograms; None where they are weighed out.
    """

    lot: str
    kg: float
    bags: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Predicted:
    """What a blend was predicted to be in one characteristic, in the unit of the catalogue.

    Attributes
    ----------
    basis
        ``"as-is"``, ``"dry"``, or empty where water does not matter.
    mean, standard_deviation
        Of the predicted distribution, with any correction in it.
    learned
        The correction that was learnt from earlier blends and is in the mean, as
        `LearnedBias.bias`; 0 for none.
    """

    characteristic: str
    basis: str
    mean: float
    standard_deviation: float
    learned: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Draft:
    """A plan for a blend.

    Attributes
    ----------
    name, material
        What it is called, and which material it makes.
    batch_kg
        What was asked for; the portions may differ from it by the bags.
    target
        What was asked of it, in plain values that JSON can hold.
    odds
        Chance that the blend lies inside its window, 0 to 1; None if none was computed.
    cost
        Of all portions in `currency`; None if a price is not known.
    """

    name: str
    material: str
    batch_kg: float
    portions: tuple[Portion, ...]
    predicted: tuple[Predicted, ...] = ()
    target: Mapping[str, Any] = field(default_factory=dict)
    odds: float | None = None
    cost: float | None = None
    currency: str = ""
    note: str = ""

    @property
    def lots(self) -> tuple[str, ...]:
        """The lots it takes from, in order of the recipe."""
        return tuple(portion.lot for portion in self.portions)

    @property
    def total_kg(self) -> float:
        """What the portions add up to."""
        return math.fsum(portion.kg for portion in self.portions)


def target_text(draft: Draft) -> str:
    """What was asked, as the store keeps it.

    Raises
    ------
    InvalidInput
        If it holds something that JSON cannot.
    """
    try:
        text = audit.canonical(draft.target)
        # JSON has no infinity and no NaN; Python writes them all the same.
        json.loads(text, parse_constant=_refuse_constant)
    except (TypeError, ValueError) as problem:
        raise InvalidInput(
            f"what was asked of it cannot be kept: {problem}.",
            where=_where(draft),
            remedy="Ask in texts, finite numbers, lists and mappings.",
        ) from problem
    return text


def recipe_text(draft: Draft) -> str:
    """The recipe, as the store keeps it; a solver's own kinds of numbers become plain ones."""
    return audit.canonical(
        {
            "portions": [
                {
                    "lot": one.lot,
                    "kg": float(one.kg),
                    "bags": None if one.bags is None else int(one.bags),
                }
                for one in draft.portions
            ],
            "predicted": _plain(draft.predicted),
            "odds": None if draft.odds is None else float(draft.odds),
            "cost": None if draft.cost is None else float(draft.cost),
            "currency": draft.currency,
        }
    )


def predicted_text(predicted: Sequence[Predicted]) -> str:
    """What was predicted, as the store keeps it; empty for nothing."""
    return audit.canonical({"predicted": _plain(predicted)}) if predicted else ""


def predicted_of(text: str) -> tuple[Predicted, ...]:
    """What was predicted, from a recipe's text or `predicted_text`."""
    told = json.loads(text)["predicted"] if text else []
    return tuple(Predicted(**one) for one in told)


def draft_of(row: Mapping[str, Any]) -> Draft:
    """A draft from its row in the store."""
    recipe = json.loads(row["recipe"])
    return Draft(
        name=row["name"],
        material=row["material"],
        batch_kg=row["batch_kg"],
        portions=tuple(Portion(**one) for one in recipe["portions"]),
        predicted=predicted_of(row["recipe"]),
        target=json.loads(row["target"]),
        odds=recipe["odds"],
        cost=recipe["cost"],
        currency=recipe["currency"],
        note=row["note"],
    )


def check(draft: Draft, known: Catalogue) -> None:
    """Refuse a draft that no floor could follow.

    Raises
    ------
    InvalidInput
        With what is wrong and what to do.
    UnknownName
        If the catalogue has no such material or characteristic.
    """
    broken = (*_broken_form(draft), *_broken_portions(draft), *_broken_odds(draft))
    if broken:
        what, remedy = broken[0]
        raise InvalidInput(what, where=_where(draft), remedy=remedy)
    specified = {one.material for one in known.specifications}
    if draft.material not in specified:
        raise UnknownName("specification", draft.material, known=sorted(specified))
    check_predicted(draft.predicted, known, where=_where(draft))


def check_predicted(predicted: Sequence[Predicted], known: Catalogue, *, where: str) -> None:
    """Refuse a prediction that is no number, or is of nothing the catalogue knows.

    Raises
    ------
    InvalidInput
        If a mean or a standard deviation is not finite, or a characteristic stands twice.
    UnknownName
        If the catalogue has no such characteristic.
    """
    names = [one.characteristic for one in known.characteristics]
    for one in predicted:
        if one.characteristic not in names:
            raise UnknownName("characteristic", one.characteristic, known=names)
        figures = (one.mean, one.standard_deviation, one.learned)
        if not all(map(math.isfinite, figures)) or one.standard_deviation < 0.0:
            raise InvalidInput(
                f"{one.characteristic} is predicted as {one.mean:g} with a standard deviation of"
                f" {one.standard_deviation:g}.",
                where=where,
                remedy="Give finite numbers, and a standard deviation that is not negative.",
            )
    twice = _twice(one.characteristic for one in predicted)
    if twice:
        raise InvalidInput(
            f"{twice[0]} is predicted twice.",
            where=where,
            remedy="Predict each characteristic once.",
        )


def _where(draft: Draft) -> str:
    return f"blend {draft.name}".strip()


def _broken_form(draft: Draft) -> Iterable[tuple[str, str]]:
    if not draft.name.strip():
        yield "the draft has no name.", "Name it, so that people can speak of it."
    if not (math.isfinite(draft.batch_kg) and draft.batch_kg > 0.0):
        yield f"a batch of {draft.batch_kg:g} kg cannot be made.", "Give the kilograms, above zero."
    if not draft.portions:
        yield "the recipe takes nothing from any lot.", "Give at least one portion."


def _broken_portions(draft: Draft) -> Iterable[tuple[str, str]]:
    for lot in _twice(draft.lots):
        yield f"lot {lot} stands in the recipe twice.", "Add its portions up."
    for portion in draft.portions:
        stock_moves.refuse_amount(portion.kg, lot=portion.lot)
        if portion.bags is not None and portion.bags < 0:
            yield f"{portion.bags} bags of lot {portion.lot} cannot be taken.", "Count bags from 0."


def _broken_odds(draft: Draft) -> Iterable[tuple[str, str]]:
    if draft.odds is not None and not 0.0 <= draft.odds <= 1.0:
        yield f"odds of {draft.odds:g} are no chance.", "Give a chance from 0 to 1, or none."
    if draft.cost is not None and not math.isfinite(draft.cost):
        yield f"a cost of {draft.cost:g} is no amount.", "Give a finite cost, or none."


def _twice(names: Iterable[str]) -> list[str]:
    return [name for name, count in Counter(names).items() if count > 1]


def _plain(predicted: Sequence[Predicted]) -> list[dict[str, Any]]:
    return [
        {
            "characteristic": one.characteristic,
            "basis": one.basis,
            "mean": float(one.mean),
            "standard_deviation": float(one.standard_deviation),
            "learned": float(one.learned),
        }
        for one in predicted
    ]


def _refuse_constant(name: str) -> float:
    raise ValueError(f"{name} is no number")
