"""`lotheat sweep`: what is unusual in any stream."""

from typing import Annotated

import typer

from dashboard.command.replies import signals_table, sweep_json
from dashboard.command.terminal import JsonOption, StoreOption, existing, print_json, print_table


def sweep(
    *,
    store: StoreOption = None,
    most: Annotated[int, typer.Option("--most", help="Signals to print, newest first.")] = 30,
    as_json: JsonOption = False,
) -> None:
    """Chart every stream in one pass and list what is unusual, newest first."""
    with existing(store) as opened:
        survey = opened.sweep()
    if as_json:
        print_json(sweep_json(survey))
    else:
        print_table(signals_table(survey).head(most))
