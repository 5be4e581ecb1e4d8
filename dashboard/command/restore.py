"""`lotheat restore`: a store from a copy that holds."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.terminal import ERR, Exit, StoreOption, place
from spc.store import restore as made_from


def restore(
    file: Annotated[Path, typer.Argument(help="A copy that `lotheat backup` wrote.")],
    *,
    store: StoreOption = None,
) -> None:
    """Make a store from a copy, if all of it holds; a store that is there is never overwritten."""
    path = place(store)
    outcome = made_from(file, path)
    for note in outcome.notes:
        ERR.print(f"note: {note}", soft_wrap=True)
    for fault in outcome.faults:
        ERR.print(f"fault: {fault}", soft_wrap=True)
    if not outcome.ok:
        ERR.print("The copy has faults; no store was made.")
        raise typer.Exit(Exit.FAULTS)
    ERR.print(f"checked, and nothing is wrong: the store is {path}", soft_wrap=True)
