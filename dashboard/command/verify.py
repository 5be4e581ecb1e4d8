"""`lotheat verify`: every stored value derived again, every seal checked."""

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


def verify(*, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Derive every stored value from its reading again, and check every seal."""
    with existing(store) as opened, progress("verifying") as tick:
        outcome = opened.verify(tick)
    if as_json:
        print_json({"ok": outcome.ok, "checked": outcome.checked, "faults": list(outcome.faults)})
    else:
        for name, count in outcome.checked.items():
            OUT.print(f"{count:>8} {name} checked")
        for fault in outcome.faults:
            OUT.print(f"fault: {fault}", markup=False, soft_wrap=True)
        OUT.print("Nothing is wrong." if outcome.ok else f"{len(outcome.faults)} faults.")
    if not outcome.ok:
        raise typer.Exit(Exit.FAULTS)
