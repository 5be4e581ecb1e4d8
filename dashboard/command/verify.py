"""`lotheat verify`: whether a store can be believed, and whether it is the one that others saw."""

from pathlib import Path
from typing import Annotated, Any

import typer

from dashboard.command.terminal import (
    OUT,
    Exit,
    JsonOption,
    StoreOption,
    existing,
    place,
    print_json,
    progress,
)
from dashboard.server import checking, handover
from spc.errors import ChangedSchema, InvalidInput, OlderSchema
from spc.store import Comparison, Store, Verification

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
    given = {
        name: _content(path).decode(errors="replace")
        for name, path in (("against", against), ("key", key), ("root", root))
        if path is not None
    }
    if against is not None and not given["against"].strip():
        raise InvalidInput(
            "there is no anchor in it.",
            where=str(against),
            remedy="Name a file of lines that `lotheat verify` or `lotheat backup` wrote.",
        )
    told = _checked(store, given)
    if as_json:
        print_json(told)
    else:
        _print(told)
    if not told["ok"]:
        raise typer.Exit(Exit.FAULTS)


def _checked(store: Path | None, given: dict[str, str]) -> dict[str, Any]:
    """Checked by the running server if there is one, for it alone has the file open."""
    server = handover.running(place(store))
    if server is not None:
        return handover.verified(server, **given)
    try:
        with _looked_at(store) as opened, progress("verifying") as tick:
            return checking.check(opened, tick, **given)
    except ChangedSchema as problem:
        changed = Verification(checked={}, faults=problem.faults)
        return checking.told(changed, Comparison(), anchor="")


def _looked_at(store: Path | None) -> Store:
    """The store, opened without writing, so that a protected copy can be checked too.

    One of an older version is brought up to date first, as any other command would.
    """
    try:
        return existing(store, read_only=True)
    except OlderSchema:
        return existing(store)


def _print(told: dict[str, Any]) -> None:
    for name, count in told["checked"].items():
        OUT.print(f"{count:>8} {name} checked")
    for note in (*told["notes"], *told["anchors"]):
        OUT.print(f"note: {note}", soft_wrap=True)
    for fault in told["faults"]:
        OUT.print(f"fault: {fault}", soft_wrap=True)
    if told["faults"]:
        OUT.print(f"{len(told['faults'])} faults.")
        return
    OUT.print("Nothing is wrong.")
    OUT.print(f"anchor: {told['anchor']}", soft_wrap=True)


def _content(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError as problem:
        raise InvalidInput(
            f"{problem.strerror}.", where=str(path), remedy="Check the path and its rights."
        ) from problem
