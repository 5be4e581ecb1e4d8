"""The `lotheat` command: parse, call, print.  Results go to stdout, everything else to stderr."""

import getpass
import json
import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from enum import IntEnum
from importlib.resources import as_file, files
from pathlib import Path
from typing import Annotated, Any, Final

import platformdirs
import typer
from rich.console import Console
from rich.progress import Progress
from rich.table import Table
from rich.text import Text

from dashboard import blend_command, delivering, query_command, stocktaking, tables
from dashboard.compared import compared
from dashboard.tables import supplier_files, suppliers
from dashboard.wording import certificates
from dashboard.wording import suppliers as worded
from spc.errors import LotHeatError, StoreError
from spc.store import Store

STORE_VARIABLE: Final = "LOTHEAT_STORE"
_ERR: Final = Console(stderr=True, highlight=False)
_OUT: Final = Console(highlight=False)


class Exit(IntEnum):
    """What the exit code says."""

    DONE = 0
    FAULTS = 1  # `verify` found something wrong
    USAGE = 2  # the words of the command are off
    REFUSED = 3  # a file or a decision was refused; nothing of it was stored
    STORE = 4  # the store could not be opened or written


app = typer.Typer(
    name="lotheat",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help=(
        "Statistical process control for raw-material lots of chilli pepper.\n\n"
        "Exit codes: 0 done, 1 `verify` found faults, 2 wrong usage, 3 a file was refused,"
        " 4 the store could not be used."
    ),
)

StoreOption = Annotated[
    Path | None,
    typer.Option(
        "--store",
        help=f"The store's file; else ${STORE_VARIABLE}, else one in your data folder.",
        show_default=False,
    ),
]
JsonOption = Annotated[bool, typer.Option("--json", help="Print JSON for programs.")]
ByOption = Annotated[
    str, typer.Option("--by", help="Who brings the files.", show_default="your user name")
]
PortOption = Annotated[int, typer.Option("--port", help="Port on this machine.")]


def main() -> None:
    """Run the command and end the process with its exit code."""
    try:
        app()
    except LotHeatError as problem:
        _ERR.print(f"lotheat: {problem}", style="bold", markup=False, soft_wrap=True)
        sys.exit(Exit.STORE if isinstance(problem, StoreError) else Exit.REFUSED)


@app.command(epilog="Example: lotheat demo --store demo.duckdb --no-serve")
def demo(
    store: StoreOption = None,
    *,
    no_serve: Annotated[
        bool, typer.Option("--no-serve", help="Stop when the store is made.")
    ] = False,
    port: PortOption = 8501,
) -> None:
    """Make the demo store from its raw files and show it in the browser."""
    path = store or _usual("demo.duckdb")
    opened = Store.open(path)
    with as_file(files("demo_data")) as folder:
        paths = demo_files(folder)
        with _progress("receiving", total=len(paths)) as tick:
            receipts = delivering.into(opened, paths, profile=None, by="demo", tick=tick).receipts
        if not all(one.again for one in receipts):
            _take_stock(opened, folder / "stock_take.csv", by="demo", reason="count of 20 November")
    rows = sum(one.rows for one in receipts)
    _ERR.print(f"{len(receipts)} files, {rows} rows: the demo store is {path}", soft_wrap=True)
    if no_serve:
        opened.close()
        return
    _serve(opened, port)


@app.command(epilog="Example: lotheat serve --store mine.duckdb --port 8600")
def serve(
    store: StoreOption = None,
    *,
    port: PortOption = 8501,
    watch: Annotated[
        Path | None, typer.Option("--watch", help="Take in what is put into this folder.")
    ] = None,
) -> None:
    """Show a store in the browser, on this machine only."""
    _serve(Store.open(_path(store)), port, watch)


@app.command(epilog="Example: lotheat receive catalogue.toml sensor.toml march.csv --by 'A. Quill'")
def receive(
    file: Annotated[
        list[Path], typer.Argument(help="Result files, catalogues, source profiles, or folders.")
    ],
    *,
    store: StoreOption = None,
    profile: Annotated[
        str | None,
        typer.Option("--profile", help="Source profile, if the header should not decide."),
    ] = None,
    by: ByOption = "",
    as_json: JsonOption = False,
) -> None:
    """Take in files: every row becomes a result, is known, or is held with its reason.

    While a server shows the store, the files are handed to it.
    """
    paths = _files(file)
    with _progress("receiving", total=len(paths)) as tick:
        taken = delivering.deliver(
            paths, _path(store), profile=profile, by=by or getpass.getuser(), tick=tick
        )
    if as_json:
        _print_json(tables.receipts_told(taken.receipts, taken.refused, taken.held))
    else:
        _print_table(tables.receipts_table(taken.receipts))
        for refusal in taken.refused:
            _ERR.print(f"refused {refusal['file']}: {refusal['reason']}", markup=False)
    if taken.refused:
        raise typer.Exit(Exit.REFUSED)


@app.command(epilog="Example: lotheat count stock_take.csv --by 'J. Terrow'")
def count(
    file: Annotated[Path, typer.Argument(help="CSV with lot, bags, bag_kg, opened_kg.")],
    *,
    store: StoreOption = None,
    by: ByOption = "",
    reason: Annotated[str, typer.Option("--reason", help="Why it was counted.")] = "stock-take",
) -> None:
    """Record what a stock-take found of each lot; all of it stands, or nothing."""
    with _existing(store) as opened:
        lots = _take_stock(opened, file, by=by or getpass.getuser(), reason=reason)
    _ERR.print(f"{lots} lots counted")


@app.command(epilog="Example: lotheat review R26-0140 --json")
def review(
    lot: Annotated[str | None, typer.Argument(help="One lot; else every lot that waits.")] = None,
    *,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Judge a lot, or every waiting lot, oldest first."""
    with _existing(store) as opened:
        names = [opened.lot(lot).lot] if lot else list(opened.lots(waiting=True)["lot"])
        told = tables.review_told(
            opened.lots().set_index("lot").loc[names], opened.verdicts(names), opened.today()
        )
    if as_json:
        _print_json({"lots": told})
    else:
        _print_table(tables.review_table(told))
        if not told:
            _ERR.print("No lot waits for a decision.")


@app.command(epilog="Example: lotheat sweep --json")
def sweep(
    *,
    store: StoreOption = None,
    most: Annotated[int, typer.Option("--most", help="Signals to print, newest first.")] = 30,
    as_json: JsonOption = False,
) -> None:
    """Chart every stream in one pass and list what is unusual, newest first."""
    with _existing(store) as opened:
        survey = opened.sweep()
    if as_json:
        _print_json(tables.sweep_told(survey))
    else:
        _print_table(tables.signals_table(survey).head(most))


@app.command(epilog="Example: lotheat compare 'cayenne powder' --json")
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
    with _existing(store) as opened:
        told = compared(opened, material, characteristic)
    if as_json:
        _print_json(supplier_files.compare_told(told))
        return
    _OUT.print(worded.answer(told), markup=False)
    _print_table(suppliers.compare_table(told))
    beside = (worded.left_out(told), *certificates.odd(told), *told.suppliers.reasons)
    for sentence in (worded.columns(told), *filter(None, beside)):
        _OUT.print(sentence, markup=False)


@app.command(epilog="Example: lotheat verify --json")
def verify(*, store: StoreOption = None, as_json: JsonOption = False) -> None:
    """Derive every stored value from its reading again, and check every seal."""
    with _existing(store) as opened, _progress("verifying") as tick:
        outcome = opened.verify(tick)
    if as_json:
        _print_json({"ok": outcome.ok, "checked": outcome.checked, "faults": list(outcome.faults)})
    else:
        for name, count in outcome.checked.items():
            _OUT.print(f"{count:>8} {name} checked")
        for fault in outcome.faults:
            _OUT.print(f"fault: {fault}", markup=False, soft_wrap=True)
        _OUT.print("Nothing is wrong." if outcome.ok else f"{len(outcome.faults)} faults.")
    if not outcome.ok:
        raise typer.Exit(Exit.FAULTS)


report = typer.Typer(no_args_is_help=True, help="Write a record of a lot, or a supplier's card.")
app.add_typer(report, name="report", epilog="Example: lotheat report lot R26-0140 --out r.pdf")


@report.command(name="lot", epilog="Example: lotheat report lot R26-0140 --out record.pdf")
def report_lot(
    lot: Annotated[str, typer.Argument(help="The lot's number.")],
    *,
    out: Annotated[Path, typer.Option("--out", help="The PDF to write.")],
    by: ByOption = "",
    store: StoreOption = None,
) -> None:
    """Write the record of one lot: verdict, evidence, decisions, and figures to audit."""
    # The report pulls in the figures; the other commands start without them.
    from dashboard.reports import collect, lot_record  # noqa: PLC0415

    with _existing(store) as opened:
        record = collect(
            opened, lot, printed_by=by or getpass.getuser(), printed_at=datetime.now(UTC)
        )
    out.write_bytes(lot_record(record))
    _ERR.print(f"written to {out}", soft_wrap=True)


@report.command(
    name="supplier", epilog="Example: lotheat report supplier 'North Fen Spices' --out card.xlsx"
)
def report_supplier(
    supplier: Annotated[str, typer.Argument(help="The supplier's name.")],
    *,
    out: Annotated[Path, typer.Option("--out", help="The PDF or XLSX to write.")],
    by: ByOption = "",
    store: StoreOption = None,
) -> None:
    """Write the scorecard of one supplier over all its materials."""
    from dashboard import reports  # noqa: PLC0415 - as above

    kinds = {".pdf": reports.supplier_pages, ".xlsx": reports.supplier_workbook}
    if out.suffix.lower() not in kinds:
        raise typer.BadParameter(f"{out} ends neither in .pdf nor in .xlsx.", param_hint="--out")
    with _existing(store) as opened:
        card = reports.collect_supplier(
            opened, supplier, printed_by=by or getpass.getuser(), printed_at=datetime.now(UTC)
        )
    out.write_bytes(kinds[out.suffix.lower()](card))
    _ERR.print(f"written to {out}", soft_wrap=True)


def demo_files(folder: Path) -> list[Path]:
    """What the demo store is made from, in the order it is received."""
    profiles = sorted((folder / "profiles").glob("*.toml"))
    raw = sorted(path for path in (folder / "files").rglob("*") if path.is_file())
    return [folder / "catalogue.toml", *profiles, *raw]


def _take_stock(store: Store, path: Path, *, by: str, reason: str) -> int:
    found = stocktaking.counts(path.name, path.read_bytes())
    store.blends.take_stock(found, by=by, reason=reason)
    return len(found)


def _files(paths: Sequence[Path]) -> list[Path]:
    """Folders are taken as the files in them."""
    found: list[Path] = []
    for path in paths:
        inside = (
            sorted(one for one in path.rglob("*") if one.is_file()) if path.is_dir() else [path]
        )
        found += inside
    return found


def _serve(store: Store, port: int, watch: Path | None = None) -> None:
    # The server pulls in the whole dashboard; the other commands start without it.
    from dashboard import server  # noqa: PLC0415

    _ERR.print(
        f"lotheat is at http://{server.ADDRESS}:{port} - stop it with Ctrl+C", soft_wrap=True
    )
    server.serve(store, port=port, watch=watch)


def _path(store: Path | None) -> Path:
    named = os.environ.get(STORE_VARIABLE)
    return store or (Path(named) if named else _usual("lotheat.duckdb"))


def _existing(store: Path | None) -> Store:
    """A store to look at; one that is not there is not made by looking."""
    path = _path(store)
    if not path.exists():
        raise StoreError(
            "there is no store yet.",
            where=str(path),
            remedy="Receive a file into it first, or name another with --store FILE.",
        )
    return Store.open(path)


def _usual(name: str) -> Path:
    return platformdirs.user_data_path("lotheat", appauthor=False) / name


@contextmanager
def _progress(what: str, *, total: int | None = None) -> Iterator[Any]:
    """A bar on stderr where a person watches; nothing where a program does."""
    with Progress(console=_ERR, transient=True, disable=not _ERR.is_terminal) as bar:
        task = bar.add_task(what, total=total)

        def tick(step: str) -> None:
            bar.update(task, description=f"{what} {step}", advance=1)

        yield tick


def _print_json(told: object) -> None:
    sys.stdout.write(json.dumps(told, ensure_ascii=False, indent=2, default=str) + "\n")


def _print_table(frame: Any) -> None:
    table = Table(box=None, pad_edge=False, header_style="bold")
    for column in frame.columns:
        table.add_column(str(column), overflow="fold")
    for row in frame.itertuples(index=False):
        table.add_row(*(Text(str(cell)) for cell in row))
    _OUT.print(table)


blend_command.add(app, report, opened=_existing)
query_command.add(app, place=_path)

if __name__ == "__main__":
    main()
