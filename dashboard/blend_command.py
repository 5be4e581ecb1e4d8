"""`lotheat blend` and `lotheat report blend`: what can be made today, and the sheet to weigh by."""

import ctypes
import getpass
import json
import os
import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Annotated, Any, Final

import pandas as pd
import typer
from rich.console import Console
from rich.table import Table
from rich.text import Text

from dashboard import blend_order
from dashboard.blend_order import AIMS, BlendOrder
from dashboard.larder import HEAT, Larder, Wanted, larder, within_sigmas
from dashboard.tables import blends as tabled
from dashboard.wording import blends as worded
from spc.blend.learning import learned_bias
from spc.blend.recipe import Recipe
from spc.errors import InvalidInput, NoRecipe
from spc.store import Store

_ERR: Final = Console(stderr=True, highlight=False)
_OUT: Final = Console(highlight=False)
_NO_RECIPE: Final = 3

Opened = Callable[[Path | None], AbstractContextManager[Store]]

StoreOption = Annotated[
    Path | None, typer.Option("--store", help="The store's file.", show_default=False)
]


def add(app: typer.Typer, report: typer.Typer, *, opened: Opened) -> None:
    """Give the commands of blends their place.

    Parameters
    ----------
    app, report
        Where they are added.
    opened
        Opens a store that is there.
    """

    @app.command(
        epilog="Example: lotheat blend --material 'cayenne powder' --batch-kg 500 --heat 42000"
        " --within 12%"
    )
    def blend(  # noqa: PLR0913 - an order has these parts
        material: Annotated[str, typer.Option("--material", help="What it makes.")],
        batch_kg: Annotated[float, typer.Option("--batch-kg", help="Size of the batch.")],
        heat: Annotated[float, typer.Option("--heat", help="Target, in the specification's unit.")],
        *,
        within: Annotated[str, typer.Option("--within", help="Half the window: 5%, or 0.05.")],
        odds: Annotated[
            float, typer.Option("--odds", help="Chance to lie inside, 0 for none asked.")
        ] = 0.95,
        objective: Annotated[str, typer.Option("--objective", help=", ".join(AIMS))] = "cost",
        most_lots: Annotated[int, typer.Option("--most-lots", help="0 for any number.")] = 4,
        draw_from: Annotated[
            list[str] | None, typer.Option("--draw-from", help="Another material to draw from.")
        ] = None,
        store: StoreOption = None,
        as_json: Annotated[bool, typer.Option("--json", help="Print JSON for programs.")] = False,
    ) -> None:
        """Print the recipe that hits a heat level at the least cost, or why there is none."""
        half = _share(within)
        with opened(store) as one:
            chosen = blend_order.newest(one.catalogue().specifications, material)
            order = blend_order.from_specification(
                chosen, batch_kg=batch_kg, heat=heat, within=half
            )
            order = replace(
                order,
                drawn_from=(material, *(draw_from or ())),
                odds=odds or None,
                aim=_aim(objective),
                most_lots=most_lots or None,
            )
            held = _larder(one, order)
        _print(order, held, as_json=as_json)

    @report.command(name="blend", epilog="Example: lotheat report blend 2026-0001 --out sheet.pdf")
    def report_blend(
        blend: Annotated[str, typer.Argument(help="Number of the sheet, name, or key.")],
        *,
        out: Annotated[Path, typer.Option("--out", help="The PDF to write.")],
        by: Annotated[
            str, typer.Option("--by", help="Who prints it.", show_default="your user name")
        ] = "",
        store: StoreOption = None,
    ) -> None:
        """Write the sheet of a blend that was issued: bags to fetch, portions to weigh."""
        # The report pulls in the typesetter; the other commands start without it.
        from dashboard.reports.blend_sheet import blend_sheet, collect_blend  # noqa: PLC0415

        with opened(store) as one:
            sheet = collect_blend(
                one, blend, printed_by=by or getpass.getuser(), printed_at=datetime.now(UTC)
            )
        out.write_bytes(blend_sheet(sheet))
        _ERR.print(f"written to {out}", soft_wrap=True)


def _larder(store: Store, order: BlendOrder) -> Larder:
    cvs = {one.material: one.within_lot_cv for one in store.catalogue().materials}
    wanted = Wanted(
        materials=order.drawn_from,
        basis=order.bases,
        within_sigma=within_sigmas(cvs),
        today=store.today(),
        heat_bias=learned_bias(store.blends.against_measured(characteristic=HEAT)),
    )
    return larder(store.blends.stock(), wanted)


def _print(order: BlendOrder, held: Larder, *, as_json: bool) -> None:
    try:
        with _results_only():
            found = order.answered(held)
    except NoRecipe as problem:
        if as_json:
            _print_json({"conflict": problem.conflict, "cures": problem.cures})
        else:
            _say(worded.no_answer(order, problem))
            _say(worded.cures(problem))
        raise typer.Exit(_NO_RECIPE) from problem
    if as_json:
        _print_json(tabled.recipe_told(order, found, currency=held.currency))
    else:
        _print_recipe(order, found, held.currency)


@contextmanager
def _results_only() -> Iterator[None]:
    """Send what the solver's library says of itself to stderr: stdout carries results only."""
    sys.stdout.flush()
    kept = os.dup(1)
    os.dup2(2, 1)
    try:
        yield
    finally:
        if sys.platform != "win32":
            ctypes.CDLL(None).fflush(None)
        os.dup2(kept, 1)
        os.close(kept)


def _print_recipe(order: BlendOrder, found: Recipe, currency: str) -> None:
    _say(worded.answer(order, found, currency=currency))
    _print_table(tabled.plain_lots(tabled.recipe_table(found, currency=currency)))
    _print_table(tabled.predicted_table(found))
    _say(worded.summary(found, currency=currency))
    for sentence in worded.binding(found.shadow_prices, currency=currency):
        _say(sentence)
    _ERR.print(worded.RELEASE, markup=False)


def _share(text: str) -> float:
    """A share from ``"5%"``, ``"5 %"`` or ``"0.05"``."""
    number = text.strip().removesuffix("%").strip()
    try:
        value = float(number) / (100.0 if "%" in text else 1.0)
    except ValueError:
        value = float("nan")
    if not 0.0 < value < 1.0:
        raise InvalidInput(
            f"{text!r} is no half width of a window.",
            where="--within",
            remedy="Give a share of the target, such as 5% or 0.05.",
        )
    return value


def _aim(text: str) -> Any:
    if text not in AIMS:
        raise InvalidInput(
            f"{text!r} is nothing to aim for.",
            where="--objective",
            remedy=f"Use one of: {', '.join(AIMS)}.",
        )
    return text


def _say(sentence: str) -> None:
    _OUT.print(sentence.replace("**", ""), markup=False, soft_wrap=True)


def _print_json(told: object) -> None:
    sys.stdout.write(json.dumps(told, ensure_ascii=False, indent=2) + "\n")


def _print_table(frame: pd.DataFrame) -> None:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in frame.columns:
        table.add_column(str(column), overflow="fold")
    for row in frame.itertuples(index=False):
        table.add_row(*(Text(str(cell)) for cell in row))
    _OUT.print(table)
