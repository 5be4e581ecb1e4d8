"""`lotheat blend`: what can be made today, or why it cannot."""

import ctypes
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from typing import Annotated, Any

import typer

from dashboard.blends.tables.recipe import predicted_table, recipe_json, recipe_table
from dashboard.blends.words import recipe
from dashboard.command.terminal import (
    ERR,
    Exit,
    JsonOption,
    StoreOption,
    existing,
    print_json,
    print_table,
    say,
)
from dashboard.frame.lot_addresses import by_number
from spc.answers.blends.order import AIMS, BlendOrder
from spc.answers.blends.specified_orders import blend_order
from spc.answers.blends.stock import BlendStock
from spc.answers.blends.stock_today import stock_for_order
from spc.blend.outlook.steps import Step, steps
from spc.blend.recipe import Recipe
from spc.errors import InvalidInput, NoRecipe


def blend(  # noqa: PLR0913 - an order has these parts
    material: Annotated[str, typer.Option("--material", help="What it makes.")],
    batch_kg: Annotated[float, typer.Option("--batch-kg", help="Size of the batch.")],
    heat: Annotated[float, typer.Option("--heat", help="Target, in the specification's unit.")],
    *,
    within: Annotated[str, typer.Option("--within", help="Half the window: 5%, or 0.05.")],
    odds: Annotated[
        float, typer.Option("--odds", help="Chance to lie inside, 0 for none asked.")
    ] = 0.95,
    objective: Annotated[str, typer.Option("--objective", help=", ".join(AIMS))] = "cost",
    most_lots: Annotated[int, typer.Option("--most-lots", help="0 for any number.")] = 4,
    draw_from: Annotated[
        list[str] | None, typer.Option("--draw-from", help="Another material to draw from.")
    ] = None,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Print the recipe that hits a heat level at the least cost, or why there is none."""
    half = _share(within)
    with existing(store) as opened:
        order = replace(
            blend_order(opened, material, batch_kg=batch_kg, heat=heat, within=half),
            drawn_from=(material, *(draw_from or ())),
            odds=odds or None,
            aim=_aim(objective),
            most_lots=most_lots or None,
        )
        held = stock_for_order(opened, order)
    _print(order, held, as_json=as_json)


def _print(order: BlendOrder, held: BlendStock, *, as_json: bool) -> None:
    try:
        with _results_only():
            found = order.best_recipe(held)
            priced = steps(found)
    except NoRecipe as problem:
        if as_json:
            print_json(
                {
                    "conflict": problem.conflict,
                    "smallest": problem.smallest,
                    "cures": problem.cures,
                }
            )
        else:
            say(recipe.no_answer(order, problem))
            say(recipe.cures(problem))
        raise typer.Exit(Exit.REFUSED) from problem
    if as_json:
        print_json(recipe_json(order, found, priced, currency=held.currency))
    else:
        _print_recipe(order, found, priced, held.currency)


@contextmanager
def _results_only() -> Iterator[None]:
    """Send what the solver's library says of itself to stderr: stdout carries results only."""
    sys.stdout.flush()
    kept = os.dup(1)
    os.dup2(2, 1)
    try:
        yield
    finally:
        if sys.platform != "win32":
            ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)


def _print_recipe(order: BlendOrder, found: Recipe, priced: Sequence[Step], currency: str) -> None:
    say(recipe.answer(order, found, currency=currency))
    print_table(by_number(recipe_table(found, currency=currency)))
    print_table(predicted_table(found))
    say(recipe.summary(found, currency=currency))
    for sentence in recipe.binding(priced, currency=currency):
        say(sentence)
    ERR.print(recipe.RELEASE)


def _share(text: str) -> float:
    """A share from ``"5%"``, ``"5 %"`` or ``"0.05"``."""
    number = text.strip().removesuffix("%").strip()
    try:
        value = float(number) / (100.0 if "%" in text else 1.0)
    except ValueError:
        value = float("nan")
    if not 0.0 < value < 1.0:
        raise InvalidInput(
            f"{text!r} is no half width of a window.",
            where="--within",
            remedy="Give a share of the target, such as 5% or 0.05.",
        )
    return value


def _aim(text: str) -> Any:
    if text not in AIMS:
        raise InvalidInput(
            f"{text!r} is nothing to aim for.",
            where="--objective",
            remedy=f"Use one of: {', '.join(AIMS)}.",
        )
    return text
