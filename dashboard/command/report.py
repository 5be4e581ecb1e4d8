"""`lotheat report`: the record of a lot, the card of a supplier, the sheet of a blend.

The papers pull in figures and the typesetter, so each is imported when it is asked for: the other
commands start without them.
"""

from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Final, TypeVar

import typer

from dashboard.command.terminal import OutOption, StoreOption, existing, written
from spc.answers.blends.blend_sheets import sheet_of_blend
from spc.answers.lots import record_of_lot
from spc.answers.supplier_cards import card_of_supplier

Gathered = TypeVar("Gathered")

report: Final = typer.Typer(
    no_args_is_help=True, help="Write a record of a lot, a supplier's card, or a blend's sheet."
)


@report.command(epilog="Example: lotheat report lot R26-0140 --out record.pdf")
def lot(
    lot: Annotated[str, typer.Argument(help="The lot's number.")],
    *,
    out: OutOption,
    store: StoreOption = None,
) -> None:
    """Write the record of one lot as PDF: verdict, evidence, decisions, and figures to audit."""
    from dashboard.lots.paper import lot_record  # noqa: PLC0415

    written(out, lot_record(_collected(record_of_lot, lot, store=store)))


@report.command(epilog="Example: lotheat report supplier 'North Fen Spices' --out card.xlsx")
def supplier(
    supplier: Annotated[str, typer.Argument(help="The supplier's name.")],
    *,
    out: OutOption,
    store: StoreOption = None,
) -> None:
    """Write the scorecard of one supplier over all its materials, as PDF or XLSX."""
    from dashboard.suppliers.paper import supplier_pages  # noqa: PLC0415
    from dashboard.suppliers.workbook import supplier_workbook  # noqa: PLC0415

    kinds = {".pdf": supplier_pages, ".xlsx": supplier_workbook}
    if out.suffix.lower() not in kinds:
        raise typer.BadParameter(f"{out} ends neither in .pdf nor in .xlsx.", param_hint="--out")
    card = _collected(card_of_supplier, supplier, store=store)
    written(out, kinds[out.suffix.lower()](card))


@report.command(epilog="Example: lotheat report blend 2026-0001 --out sheet.pdf")
def blend(
    blend: Annotated[str, typer.Argument(help="Number of the sheet, name, or key.")],
    *,
    out: OutOption,
    store: StoreOption = None,
) -> None:
    """Write the sheet of a blend that was issued, as PDF: bags to fetch, portions to weigh."""
    from dashboard.blends.paper import blend_sheet  # noqa: PLC0415

    written(out, blend_sheet(_collected(sheet_of_blend, blend, store=store)))


def _collected(gather: Callable[..., Gathered], asked: str, *, store: Path | None) -> Gathered:
    """What a record says of the lot, supplier or blend asked for, as of now."""
    with existing(store) as opened:
        user = opened.people.system_user().user
        return gather(opened, asked, printed_by=user, printed_at=datetime.now(UTC))
