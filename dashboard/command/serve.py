"""`lotheat serve`: a store in the browser."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.terminal import ERR, PortOption, StoreOption, place
from spc.store import Store


def serve(
    store: StoreOption = None,
    *,
    port: PortOption = 8501,
    watch: Annotated[
        Path | None, typer.Option("--watch", help="Take in what is put into this folder.")
    ] = None,
) -> None:
    """Show a store in the browser, on this machine only."""
    show(Store.open(place(store)), port, watch)


def show(store: Store, port: int, watch: Path | None = None) -> None:
    """Show a store in the browser until it is stopped."""
    # The server pulls in the whole dashboard; the other commands start without it.
    from dashboard.server import process  # noqa: PLC0415

    ERR.print(
        f"lotheat is at http://{process.ADDRESS}:{port} - stop it with Ctrl+C", soft_wrap=True
    )
    process.serve(store, port=port, watch=watch)
