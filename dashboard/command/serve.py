"""`lotheat serve`: a store in the browser."""

from collections.abc import Callable
from pathlib import Path
from typing import Annotated, Any

import typer

from dashboard.command.acting import token
from dashboard.command.terminal import ERR, PortOption, StoreOption, place
from dashboard.server.folder.watched_folder import QUIET_S
from spc.store import Store


def serve(  # noqa: PLR0913 - where it listens, who comes in, and what it keeps where
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
    anchors: Annotated[
        Path | None,
        typer.Option(
            "--anchors",
            envvar="LOTHEAT_ANCHORS",
            help="Folder for the daily anchor; else it goes beside the store.",
        ),
    ] = None,
    anchor_key: Annotated[
        Path | None,
        typer.Option(
            "--anchor-key",
            envvar="LOTHEAT_ANCHOR_KEY",
            help="Private key (Ed25519, PEM) that signs it.",
        ),
    ] = None,
    time_stamps: Annotated[
        str,
        typer.Option(
            "--time-stamps",
            envvar="LOTHEAT_TIME_STAMPS",
            help="Address of an authority (RFC 3161) that stamps it.",
        ),
    ] = "",
    backups: Annotated[
        Path | None,
        typer.Option(
            "--backups", envvar="LOTHEAT_BACKUPS", help="Folder for a copy of the store, daily."
        ),
    ] = None,
) -> None:
    """Show a store in the browser: to you, or to the people who sign in.

    Where nobody is registered it listens on this machine only, and prints a link that lets you in.
    Once `lotheat people` has invited somebody who chose a secret, everybody signs in.
    """
    kept = {"anchors": anchors, "key": anchor_key, "authority": time_stamps, "backups": backups}
    show(
        place(store),
        port=port,
        address=address,
        sign_in=sign_in,
        watch=watch,
        quiet_s=quiet,
        kept=kept,
    )


def show(
    store: Path,
    *,
    watch: Path | None = None,
    quiet_s: float = QUIET_S,
    kept: dict[str, Any] | None = None,
    visitor: Callable[[Store], str] | None = None,
    **asked: Any,
) -> None:
    """Show a store in the browser until it is stopped.

    Parameters
    ----------
    kept
        What is kept where; see `jobs.Keeping`.
    visitor
        Signs in who opens the printed link, where everybody else signs in with name and secret.
    """
    # The server pulls in the whole dashboard; the other commands start without it.
    from dashboard.server import jobs, process, watching  # noqa: PLC0415

    if not store.exists():
        # Refused before a store is made that nobody would see.
        process.reached(registered=False, **asked)
    opened = Store.open(store)
    try:
        served = process.prepared(opened, visitor=visitor, **asked)
        schedule = jobs.schedule(opened, jobs.Keeping(**kept or {}))
    except BaseException:
        opened.close()
        raise
    watched = (
        None if watch is None else watching.Watching(folder=watch, quiet_s=quiet_s, token=token())
    )
    process.serve(
        opened,
        served=served,
        schedule=schedule,
        watch=watched,
        say=lambda sentence: ERR.print(sentence, soft_wrap=True),
    )
