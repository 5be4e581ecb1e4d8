"""`lotheat count`: what a stock-take found."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.acting import AsOption, acting
from dashboard.command.terminal import ERR, StoreOption, existing
from spc.answers.blends import stocktake
from spc.store import Store
from spc.store.people import Proof


def count(
    file: Annotated[Path, typer.Argument(help="CSV with lot, bags, bag_kg, opened_kg.")],
    *,
    store: StoreOption = None,
    as_name: AsOption = "",
    reason: Annotated[str, typer.Option("--reason", help="Why it was counted.")] = "stock-take",
) -> None:
    """Record what a stock-take found of each lot; all of it stands, or nothing."""
    with existing(store) as opened, acting(opened, as_name) as by:
        lots = take_stock(opened, file, by=by, reason=reason)
    ERR.print(f"{lots} lots counted")


def take_stock(store: Store, path: Path, *, by: Proof, reason: str) -> int:
    """Keep what a file says of the bags of each lot; the number of lots counted."""
    found = stocktake.stocktake_counts(path.name, path.read_bytes())
    store.blends.take_stock(found, by=by, reason=reason)
    return len(found)
