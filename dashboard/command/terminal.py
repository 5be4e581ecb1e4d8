"""What the commands of `lotheat` share: their options, the store, and what is printed where.

Results go to stdout, everything else to stderr.
"""

import json
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from enum import IntEnum
from pathlib import Path
from typing import Annotated, Any, Final

import pandas as pd
import platformdirs
import typer
from rich.console import Console
from rich.padding import Padding
from rich.progress import Progress
from rich.table import Table
from rich.text import Text

from dashboard.frame.escaping import seen
from spc.errors import StoreError
from spc.store import Store

STORE_VARIABLE: Final = "LOTHEAT_STORE"


class Plain(Console):
    """A terminal that shows every text as it stands: no name rings, colours or moves anything."""

    def print(self, *told: Any, **how: Any) -> None:
        """Print texts, tables and paragraphs."""
        super().print(*(seen(one) if isinstance(one, str) else one for one in told), **how)


ERR: Final = Plain(stderr=True, highlight=False, markup=False)
OUT: Final = Plain(highlight=False, markup=False)


class Exit(IntEnum):
    """What the exit code says."""

    DONE = 0
    FAULTS = 1  # `verify`, or `restore` in a copy, found something wrong
    USAGE = 2  # the words of the command are off
    REFUSED = 3  # a file, an order, a decision or a server's start was refused; nothing was stored
    STORE = 4  # the store could not be opened, written, or checked by `verify`


StoreOption = Annotated[
    Path | None,
    typer.Option(
        "--store",
        help=f"The store's file; else ${STORE_VARIABLE}, else one in your data folder.",
        show_default=False,
    ),
]
ProfileOption = Annotated[
    str | None,
    typer.Option("--profile", help="Source profile, if the header should not decide."),
]
PortOption = Annotated[int, typer.Option("--port", help="Port on this machine.")]
OutOption = Annotated[Path, typer.Option("--out", help="The file to write.")]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]


def usual(name: str) -> Path:
    """A file in the user's data folder."""
    return platformdirs.user_data_path("lotheat", appauthor=False) / name


def place(store: Path | None) -> Path:
    """The store's file: as typed, from the environment, or the usual one."""
    named = os.environ.get(STORE_VARIABLE)
    return store or (Path(named) if named else usual("lotheat.duckdb"))


def existing(store: Path | None, *, read_only: bool = False) -> Store:
    """A store to look at; one that is not there is not made by looking."""
    path = place(store)
    if not path.exists():
        raise StoreError(
            "there is no store yet.",
            where=str(path),
            remedy="Receive a file into it first, or name another with --store FILE.",
        )
    return Store.open(path, read_only=read_only)


@contextmanager
def progress(what: str, *, total: int | None = None) -> Iterator[Any]:
    """A bar on stderr where a person watches; nothing where a program does."""
    with Progress(console=ERR, transient=True, disable=not ERR.is_terminal) as bar:
        task = bar.add_task(what, total=total)

        def tick(step: str) -> None:
            bar.update(task, description=f"{what} {step}", advance=1)

        yield tick


def say(sentence: str) -> None:
    """Print a sentence on stdout, without the marks of bold text."""
    OUT.print(seen(sentence.replace("**", "")), soft_wrap=True)


def print_json(told: object) -> None:
    """Print a result for programs."""
    sys.stdout.write(json.dumps(told, ensure_ascii=False, indent=2, default=str) + "\n")


def print_table(frame: pd.DataFrame, *, on: Console = OUT) -> None:
    """Print a result for people; long words are folded, never cut."""
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in frame.columns:
        table.add_column(Text(seen(str(column))), overflow="fold")
    for row in frame.itertuples(index=False):
        table.add_row(*(Text(seen(str(cell))) for cell in row))
    on.print(table)


def print_paragraph(head: str, text: str) -> None:
    """Print a line, and below it what belongs to it, as wide as the terminal is."""
    OUT.print(Text(seen(head), style="bold"))
    OUT.print(Padding(Text(seen(text)), (0, 0, 1, 2)))


def written(path: Path, content: bytes) -> None:
    """Write a file and say where."""
    path.write_bytes(content)
    ERR.print(f"written to {path}", soft_wrap=True)
