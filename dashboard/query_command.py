"""`lotheat query`: the answer of another database, taken in like a file."""

import getpass
import json
import sys
import tempfile
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated

import typer

from dashboard import delivering, tables
from dashboard.querying import snapshot


def add(app: typer.Typer, *, place: Callable[[Path | None], Path]) -> None:
    """Give the command its place.

    Parameters
    ----------
    app
        Where it is added.
    place
        The store's file, from what was typed.
    """

    @app.command(
        epilog="Example: lotheat query sqlite:///laboratory.db 'select * from reading'"
        " --profile 'laboratory database'"
    )
    def query(
        address: Annotated[str, typer.Argument(help="The database, as SQLAlchemy writes it.")],
        question: Annotated[str, typer.Argument(help="One select; its columns are the header.")],
        *,
        profile: Annotated[
            str | None,
            typer.Option("--profile", help="Source profile, if the header should not decide."),
        ] = None,
        store: Annotated[
            Path | None, typer.Option("--store", help="The store's file.", show_default=False)
        ] = None,
        by: Annotated[str, typer.Option("--by", help="Who brings it.")] = "",
    ) -> None:
        """Ask another database and take in its answer, which is kept as it was; prints JSON."""
        answer = snapshot(address, question, asked_at=datetime.now(UTC))
        with tempfile.TemporaryDirectory() as folder:
            file = Path(folder) / answer.name
            file.write_bytes(answer.content)
            taken = delivering.deliver(
                [file], place(store), profile=profile, by=by or getpass.getuser()
            )
        told = tables.receipts_told(taken.receipts, taken.refused, taken.held)
        sys.stdout.write(json.dumps(told, ensure_ascii=False, indent=2, default=str) + "\n")
        if taken.refused:
            raise typer.Exit(3)
