"""The demo's blends: every line of its blend book drafted, approved, issued and made."""

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from spc.answers.blends.draft import recipe_draft
from spc.answers.blends.specified_orders import blend_order
from spc.answers.blends.stock import BlendStock, blend_stock, lot_needs
from spc.store import Receipt, Store
from spc.store.blends.drafts import Draft
from spc.store.blends.stock import Stock
from spc.store.people import Proof

BOOK: Final = "book.toml"
# What was found of the blends, and what was decided of them then.
FOUND: Final = ("made_sensor.csv", "made_moisture.csv", "made_laboratory.xlsx")
DECIDED: Final = "made_decisions.csv"


def blends(
    store: Store, folder: Path, *, by: Proof, proof: Callable[[str], Proof]
) -> list[Receipt]:
    """Make the blends of the book, and receive what was found of them.

    Parameters
    ----------
    store
        With the deliveries, their results and the decisions on them; no count was taken yet.
    folder
        Of the book and the files beside it.
    by
        Who brings the files.
    proof
        From somebody's name in the book to the proof that they act.

    Returns
    -------
    list of Receipt
        Of the files.

    Raises
    ------
    NoRecipe
        If a blend of the book does not keep what the book asks of it.
    InvalidInput
        If a lot of the book may not be used.
    """
    book = tomllib.loads((folder / BOOK).read_text(encoding="utf-8"))["blend"]
    stock = store.blends.stock(lots=[lot for made in book for lot in made["bags"]])
    kept = set(store.blends.every()["name"])
    for made in book:
        if made["name"] not in kept:
            _make(store, stock, made, proof)
    return [store.receive(folder / name, by=by) for name in (*FOUND, DECIDED)]


def _make(
    store: Store, stock: Stock, made: Mapping[str, Any], proof: Callable[[str], Proof]
) -> None:
    drafted = _drafted(store, stock, made)
    blend = store.blends.save(drafted, by=proof(made["drafted_by"]))
    store.blends.approve(blend, by=proof(made["approved_by"]))
    store.blends.issue(blend, by=proof(made["approved_by"]))
    store.blends.make(
        blend,
        lot=made["lot"],
        weighed={one.lot: one.kg for one in drafted.portions},
        packages=made["packages"],
        package_kg=made["package_kg"],
        made_on=made["made_on"],
        by=proof(made["made_by"]),
    )


def _drafted(store: Store, stock: Stock, made: Mapping[str, Any]) -> Draft:
    """The draft of the book's bags: the only recipe there is if nothing else is in stock."""
    asked = blend_order(
        store, made["material"], batch_kg=0.0, heat=made["heat"], within=made["within"]
    )
    needs = lot_needs(store.catalogue(), asked.drawn_from, asked.bases, today=store.today())
    held = _only(blend_stock(stock, needs), made["bags"])
    order = replace(
        asked, batch_kg=sum(lot.available_kg for lot in held.lots), odds=made["odds"], most_lots=4
    )
    return recipe_draft(
        order,
        order.best_recipe(held),
        currency=held.currency,
        learned=0.0,
        named={"name": made["name"], "note": made["note"]},
    )


def _only(held: BlendStock, bags: Mapping[str, int]) -> BlendStock:
    """As if nothing but these bags was there."""
    lots = [
        replace(lot, available_kg=bags[lot.code] * (lot.bag_kg or 0.0), opened_kg=0.0)
        for lot in held.lots
        if lot.code in bags
    ]
    return replace(held, lots=tuple(lots))
