"""`lotheat propose`: a source profile for a file that none fits, to fill in."""

import sys
from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.terminal import ERR, StoreOption, existing, place, written
from dashboard.frame.escaping import seen
from dashboard.frame.words import count
from dashboard.server import delivering, handover
from spc.errors import IntakeError, StoreError
from spc.intake.names import of_file
from spc.intake.proposals.questions import ProposedFile, proposed_file
from spc.store import Store


def propose(
    file: Annotated[Path, typer.Argument(help="A file that no source profile fits.")],
    *,
    out: Annotated[
        Path | None, typer.Option("--out", help="The file to write; else it is printed.")
    ] = None,
    store: StoreOption = None,
) -> None:
    """Write the source profile (TOML) that a file seems to need, with what it leaves open.

    Nothing is received: answer its questions in the text, then receive that.
    """
    content = delivering.content(file)
    if handover.running(place(store)) is not None:
        raise StoreError(
            "a server shows the store.",
            where=str(place(store)),
            remedy="Drop the file on Intake there, which proposes a profile; or stop the server.",
        )
    with existing(store, read_only=True) as opened:
        told = proposed(opened, file.name, content)
    if out is None:
        sys.stdout.write(seen(told.text) if sys.stdout.isatty() else told.text)
    else:
        written(out, told.text.encode())
    ERR.print(f"{count(len(told.questions), 'question')} to answer in it before it is received")


def proposed(store: Store, name: str, content: bytes) -> ProposedFile:
    """The profile that a file seems to need, by what the store's catalogue can measure.

    Raises
    ------
    IntakeError
        If the file holds no table, or nothing says what can be measured.
    """
    catalogue = store.catalogue()
    if not catalogue.methods:
        raise IntakeError(
            "the store has no catalogue yet, so that nothing says what can be measured.",
            where=name,
            remedy="Receive a catalogue first; see README.",
        )
    return proposed_file(of_file(name), content, catalogue)
