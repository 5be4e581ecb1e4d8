"""`lotheat backup`: a copy of the store, also while a server shows it."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.terminal import ERR, StoreOption, existing, place
from dashboard.server import handover


def backup(
    file: Annotated[Path, typer.Argument(help="The copy to write; it must not be there yet.")],
    *,
    store: StoreOption = None,
) -> None:
    """Copy the store into a new file, also while a server shows it."""
    server = handover.running(place(store))
    if server is not None:
        handover.fetch_copy(server, file)
    else:
        with existing(store) as opened:
            opened.backup(file)
    ERR.print(f"the copy is {file}", soft_wrap=True)
