"""`lotheat backup` and `lotheat restore`: a copy of the store, and a store from a copy."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.terminal import ERR, Exit, StoreOption, existing, place
from dashboard.server import handover
from spc.store import Store
from spc.store import restore as made_from
from spc.store.backup import beside


def backup(
    file: Annotated[Path, typer.Argument(help="The copy to write; it must not be there yet.")],
    *,
    store: StoreOption = None,
) -> None:
    """Copy the store into a new file, with its anchor beside it, also while a server shows it."""
    server = handover.running(place(store))
    if server is not None:
        handover.fetch_copy(server, file)
        with Store.open(file, read_only=True) as copy:
            beside(file).write_text(f"{copy.anchor().line}\n", encoding="utf-8")
    else:
        with existing(store) as opened:
            opened.backup(file)
    ERR.print(f"the copy is {file}", soft_wrap=True)


def restore(
    file: Annotated[Path, typer.Argument(help="A copy that `lotheat backup` wrote.")],
    *,
    store: StoreOption = None,
) -> None:
    """Make a store from a copy, if all of it holds; a store that is there is never overwritten."""
    path = place(store)
    outcome = made_from(file, path)
    for note in outcome.notes:
        ERR.print(f"note: {note}", markup=False, soft_wrap=True)
    for fault in outcome.faults:
        ERR.print(f"fault: {fault}", markup=False, soft_wrap=True)
    if not outcome.ok:
        ERR.print("The copy has faults; no store was made.")
        raise typer.Exit(Exit.FAULTS)
    ERR.print(f"checked, and nothing is wrong: the store is {path}", soft_wrap=True)
