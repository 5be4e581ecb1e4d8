"""`lotheat receive`: files become results, known rows, and rows held with their reasons."""

from collections.abc import Sequence
from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.acting import AsOption, acting, acting_there
from dashboard.command.terminal import (
    ERR,
    Exit,
    JsonOption,
    ProfileOption,
    StoreOption,
    place,
    print_json,
    print_table,
    progress,
)
from dashboard.frame.escaping import seen
from dashboard.server import delivering, replies


def receive(
    file: Annotated[
        list[Path], typer.Argument(help="Result files, catalogues, source profiles, or folders.")
    ],
    *,
    store: StoreOption = None,
    profile: ProfileOption = None,
    as_name: AsOption = "",
    as_json: JsonOption = False,
) -> None:
    """Take in files: every row becomes a result, is known, or is held with its reason.

    While a server shows the store, the files are handed to it.
    """
    paths = _files(file)
    with progress("receiving", total=len(paths)) as tick:
        taken = delivering.deliver(
            paths,
            place(store),
            profile=profile,
            acting=lambda opened: acting(opened, as_name),
            acting_there=lambda server: acting_there(server, as_name),
            tick=tick,
        )
    if as_json:
        print_json(replies.receipts_json(taken.receipts, taken.refused, taken.held))
    else:
        print_table(replies.receipts_table(taken.receipts))
        for refusal in taken.refused:
            ERR.print(seen(f"refused {refusal['file']}: {refusal['reason']}"))
    if taken.refused:
        raise typer.Exit(Exit.REFUSED)


def _files(paths: Sequence[Path]) -> list[Path]:
    """Folders are taken as the files in them."""
    found: list[Path] = []
    for path in paths:
        inside = (
            sorted(one for one in path.rglob("*") if one.is_file()) if path.is_dir() else [path]
        )
        found += inside
    return found
