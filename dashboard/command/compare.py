"""`lotheat compare`: the suppliers of one material, side by side."""

from typing import Annotated

import typer

from dashboard.command.terminal import (
    OUT,
    JsonOption,
    StoreOption,
    existing,
    print_json,
    print_table,
)
from dashboard.suppliers.tables.comparison import compare_table
from dashboard.suppliers.tables.files import compare_json
from dashboard.suppliers.words import certificates, comparison
from spc.answers.suppliers import compare_suppliers


def compare(
    material: Annotated[str, typer.Argument(help="The material whose suppliers to compare.")],
    *,
    characteristic: Annotated[
        str, typer.Option("--characteristic", help="What they are compared by.")
    ] = "heat",
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Compare suppliers: who is consistent, who drifts, whom to believe, what heat costs."""
    with existing(store) as opened:
        told = compare_suppliers(opened, material, characteristic)
    if as_json:
        print_json(compare_json(told))
        return
    OUT.print(comparison.answer(told))
    print_table(compare_table(told))
    beside = (comparison.left_out(told), *certificates.odd(told), *told.suppliers.reasons)
    for sentence in (comparison.columns(told), *filter(None, beside)):
        OUT.print(sentence)
