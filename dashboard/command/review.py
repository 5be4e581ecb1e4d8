"""`lotheat review`: the verdict on a lot, or on every lot that waits."""

from typing import Annotated

import typer

from dashboard.command.replies import review_json, reviewed
from dashboard.command.terminal import (
    ERR,
    JsonOption,
    StoreOption,
    existing,
    print_json,
    print_paragraph,
)
from spc.answers.review import review_lots


def review(
    lot: Annotated[str | None, typer.Argument(help="One lot; else every lot that waits.")] = None,
    *,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Judge a lot, or every waiting lot, oldest first."""
    with existing(store) as opened:
        told = review_json(review_lots(opened, [lot] if lot else ()))
    if as_json:
        print_json({"lots": told})
    else:
        for one in told:
            print_paragraph(*reviewed(one))
        if not told:
            ERR.print("No lot waits for a decision.")
