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
from dashboard.server.querying import snapshot


def query(
    address: Annotated[
        str, typer.Argument(help="The database, as SQLAlchemy writes it, or a DuckDB file.")
    ],
    question: Annotated[str, typer.Argument(help="One select; its columns are the header.")],
    *,
    profile: ProfileOption = None,
    store: StoreOption = None,
    as_name: AsOption = "",
) -> None:
    """Ask another database and take in its answer, which is kept as it was; prints JSON."""
    answer = snapshot(address, question, asked_at=datetime.now(UTC))
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
