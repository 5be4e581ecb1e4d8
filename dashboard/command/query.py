"""`lotheat query`: the answer of another database, taken in like a file."""

import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.acting import AsOption, acting, acting_there
from dashboard.command.terminal import (
    Exit,
    ProfileOption,
    StoreOption,
    place,
    print_json,
)
from dashboard.server import delivering, replies
from dashboard.server.databases.answer import Limits
from dashboard.server.databases.passwords import VARIABLE, password
from dashboard.server.databases.querying import snapshot


def query(  # noqa: PLR0913 - a question, and what it may take
    address: Annotated[
        str, typer.Argument(help="The database, without a password, or an SQLite or DuckDB file.")
    ],
    question: Annotated[str, typer.Argument(help="One select; its columns are the header.")],
    *,
    profile: ProfileOption = None,
    password_file: Annotated[
        Path | None,
        typer.Option(
            "--password-file",
            help=f"File with the password, its owner's only to read; else ${VARIABLE}.",
        ),
    ] = None,
    seconds: Annotated[
        float, typer.Option("--seconds", min=0.1, help="How long the query may take.")
    ] = Limits().seconds,
    rows: Annotated[
        int, typer.Option("--rows", min=1, help="How many rows it may give.")
    ] = Limits().rows,
    store: StoreOption = None,
    as_name: AsOption = "",
) -> None:
    """Ask another database and take in its answer, which is kept as it was; prints JSON.

    Nothing in the other database is changed, and a password never stands in its address.
    """
    answer = snapshot(
        address,
        question,
        asked_at=datetime.now(UTC),
        within=Limits(seconds=seconds, rows=rows),
        password=password(password_file),
    )
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / answer.name
        file.write_bytes(answer.content)
        taken = delivering.deliver(
            [file],
            place(store),
            profile=profile,
            acting=lambda opened: acting(opened, as_name),
            acting_there=lambda server: acting_there(server, as_name),
        )
    print_json(replies.receipts_json(taken.receipts, taken.refused, taken.held))
    if taken.refused:
        raise typer.Exit(Exit.REFUSED)
