"""`lotheat backup`: a copy of the store, also while a server shows it."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.terminal import ERR, StoreOption, existing, place
from dashboard.server import handover
from spc.store import Store
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
