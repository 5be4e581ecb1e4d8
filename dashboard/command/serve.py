"""`lotheat serve`: a store in the browser."""

from pathlib import Path
from typing import Annotated, Any

import typer

from dashboard.command.terminal import ERR, PortOption, StoreOption, place
from dashboard.server.folder.watched_folder import QUIET_S
from spc.store import Store


def serve(
    store: StoreOption = None,
    *,
    port: PortOption = 8501,
    watch: Annotated[
        Path | None, typer.Option("--watch", help="Take in what is put into this folder.")
    ] = None,
    quiet: Annotated[
        float,
        typer.Option(
            "--quiet", min=0.5, help="Seconds for which a file there must not have changed."
        ),
    ] = QUIET_S,
    address: Annotated[
        str, typer.Option("--address", help="Address to listen on; others need --sign-in.")
    ] = "127.0.0.1",
    sign_in: Annotated[
        Path | None,
        typer.Option("--sign-in", help="File (TOML) that says how people sign in; see README."),
    ] = None,
) -> None:
    """Show a store in the browser: to you, or to the people who sign in.

    Where nobody is registered it listens on this machine only, and prints a link that lets you in.
    Once `lotheat people` has invited somebody who chose a secret, everybody signs in.
    """
    show(place(store), port=port, address=address, sign_in=sign_in, watch=watch, quiet_s=quiet)


def show(store: Path, *, watch: Path | None = None, quiet_s: float = QUIET_S, **asked: Any) -> None:
    """Show a store in the browser until it is stopped."""
    # The server pulls in the whole dashboard; the other commands start without it.
    from dashboard.server import process  # noqa: PLC0415

    if not store.exists():
        # Refused before a store is made that nobody would see.
        process.reached(registered=False, **asked)
    opened = Store.open(store)
    try:
        served = process.prepared(opened, **asked)
    except BaseException:
        opened.close()
        raise
    process.serve(
        opened,
        served=served,
        watch=watch,
        quiet_s=quiet_s,
        say=lambda sentence: ERR.print(sentence, markup=False, soft_wrap=True),
    )
