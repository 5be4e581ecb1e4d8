"""`lotheat verify`: whether a store can be believed, and whether it is the one that others saw."""

from pathlib import Path
from typing import Annotated

import typer

from dashboard.command.terminal import (
    OUT,
    Exit,
    JsonOption,
    StoreOption,
    existing,
    print_json,
    progress,
)
from spc.errors import ChangedSchema, InvalidInput, OlderSchema
from spc.store import Comparison, Store, Trust, Verification

AgainstOption = Annotated[
    Path | None,
    typer.Option("--against", help="A file of anchors that was kept elsewhere, one a line."),
]
KeyOption = Annotated[
    Path | None,
    typer.Option("--key", help="Public key (PEM) that every anchor must be signed with."),
]
RootOption = Annotated[
    Path | None,
    typer.Option("--root", help="Root certificate (PEM) that time stamps must go back to."),
]


def verify(
    *,
    store: StoreOption = None,
    against: AgainstOption = None,
    key: KeyOption = None,
    root: RootOption = None,
    as_json: JsonOption = False,
) -> None:
    """Derive every stored value from its reading again, and check every seal.

    Ends with 1 if something is wrong, and with 4 if the store could not be checked.
    """
    text = _content(against).decode(errors="replace")
    trust = Trust(key=_content(key), root=_content(root))
    try:
        with _looked_at(store) as opened, progress("verifying") as tick:
            outcome, anchor = opened.verify(tick), opened.anchor().line
            compared = opened.against(text, trust) if against else Comparison()
    except ChangedSchema as problem:
        outcome, anchor, compared = _changed(problem), "", Comparison()
    faults = [*outcome.faults, *compared.faults]
    if as_json:
        told = {"checked": outcome.checked, "faults": faults, "notes": list(outcome.notes)}
        print_json({"ok": not faults, **told, "anchors": compared.held, "anchor": anchor})
    else:
        _print(outcome, compared, faults, anchor)
    if faults:
        raise typer.Exit(Exit.FAULTS)


def _looked_at(store: Path | None) -> Store:
    """The store, opened without writing, so that a protected copy can be checked too.

    One of an older version is brought up to date first, as any other command would.
    """
    try:
        return existing(store, read_only=True)
    except OlderSchema:
        return existing(store)


def _changed(problem: ChangedSchema) -> Verification:
    return Verification(checked={}, faults=problem.faults)


def _print(outcome: Verification, compared: Comparison, faults: list[str], anchor: str) -> None:
    for name, count in outcome.checked.items():
        OUT.print(f"{count:>8} {name} checked")
    for told in (*outcome.notes, *compared.held):
        OUT.print(f"note: {told}", markup=False, soft_wrap=True)
    for fault in faults:
        OUT.print(f"fault: {fault}", markup=False, soft_wrap=True)
    if faults:
        OUT.print(f"{len(faults)} faults.")
        return
    OUT.print("Nothing is wrong.")
    OUT.print(f"anchor: {anchor}", markup=False, soft_wrap=True)


def _content(path: Path | None) -> bytes:
    """A file's bytes; none of no file."""
    if path is None:
        return b""
    try:
        return path.read_bytes()
    except OSError as problem:
        raise InvalidInput(
            f"{problem.strerror}.", where=str(path), remedy="Check the path and its rights."
        ) from problem
