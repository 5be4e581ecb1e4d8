"""The `lotheat` command: parse, call, print.  Results go to stdout, everything else to stderr."""

import sys
from collections.abc import Sequence
from importlib.resources import as_file, files
from pathlib import Path
from typing import Annotated

import typer

from dashboard import delivering, demonstrating, stocktaking, tables, wording
from dashboard.blend_command import blend
from dashboard.compared import compared
from dashboard.keeping_command import backup, restore
from dashboard.people_command import people
from dashboard.query_command import query
from dashboard.report_command import report
from dashboard.tables import supplier_files, suppliers
from dashboard.terminal import (
    ERR,
    OUT,
    ByOption,
    Exit,
    JsonOption,
    ProfileOption,
    StoreOption,
    existing,
    person,
    place,
    print_json,
    print_paragraph,
    print_table,
    progress,
    usual,
)
from dashboard.wording import certificates
from dashboard.wording import suppliers as worded
from spc.errors import LotHeatError, StoreError
from spc.store import Store

app = typer.Typer(
    name="lotheat",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    help=(
        "Statistical process control for raw-material lots of chilli pepper.\n\n"
        "Exit codes: 0 done, 1 faults were found, 2 wrong usage, 3 a file was refused,"
        " 4 the store could not be used."
    ),
)

PortOption = Annotated[int, typer.Option("--port", help="Port on this machine.")]


def main() -> None:
    """Run the command and end the process with its exit code."""
    try:
        app()
    except LotHeatError as problem:
        ERR.print(f"lotheat: {problem}", style="bold", markup=False, soft_wrap=True)
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
    path = store or usual("demo.duckdb")
    opened = Store.open(path)
    with as_file(files("demo_data")) as folder:
        paths = demo_files(folder)
        with progress("receiving", total=len(paths)) as tick:
            receipts = delivering.into(opened, paths, profile=None, by="demo", tick=tick).receipts
        if not all(one.again for one in receipts):
            receipts += demonstrating.blends(opened, folder / "blends", by="demo")
            for count_of in ("stock_take.csv", "blends/stock_take.csv"):
                _take_stock(opened, folder / count_of, by="demo", reason="count of 20 November")
    rows = sum(one.rows for one in receipts)
    ERR.print(f"{len(receipts)} files, {rows} rows: the demo store is {path}", soft_wrap=True)
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
    _serve(Store.open(place(store)), port, watch)


@app.command(epilog="Example: lotheat receive catalogue.toml sensor.toml march.csv --by 'A. Quill'")
def receive(
    file: Annotated[
        list[Path], typer.Argument(help="Result files, catalogues, source profiles, or folders.")
    ],
    *,
    store: StoreOption = None,
    profile: ProfileOption = None,
    by: ByOption = "",
    as_json: JsonOption = False,
) -> None:
    """Take in files: every row becomes a result, is known, or is held with its reason.

    While a server shows the store, the files are handed to it.
    """
    paths = _files(file)
    with progress("receiving", total=len(paths)) as tick:
        taken = delivering.deliver(paths, place(store), profile=profile, by=person(by), tick=tick)
    if as_json:
        print_json(tables.receipts_told(taken.receipts, taken.refused, taken.held))
    else:
        print_table(tables.receipts_table(taken.receipts))
        for refusal in taken.refused:
            ERR.print(f"refused {refusal['file']}: {refusal['reason']}", markup=False)
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
    with existing(store) as opened:
        lots = _take_stock(opened, file, by=person(by), reason=reason)
    ERR.print(f"{lots} lots counted")


@app.command(epilog="Example: lotheat review R26-0140 --json")
def review(
    lot: Annotated[str | None, typer.Argument(help="One lot; else every lot that waits.")] = None,
    *,
    store: StoreOption = None,
    as_json: JsonOption = False,
) -> None:
    """Judge a lot, or every waiting lot, oldest first."""
    with existing(store) as opened:
        names = [opened.lot(lot).lot] if lot else list(opened.lots(waiting=True)["lot"])
        told = tables.review_told(
            opened.lots().set_index("lot").loc[names], opened.verdicts(names), opened.today()
        )
    if as_json:
        print_json({"lots": told})
    else:
        for one in told:
            print_paragraph(*wording.reviewed(one))
        if not told:
            ERR.print("No lot waits for a decision.")


@app.command(epilog="Example: lotheat sweep --json")
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
        print_json(tables.sweep_told(survey))
    else:
        print_table(tables.signals_table(survey).head(most))


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
    with existing(store) as opened:
        told = compared(opened, material, characteristic)
    if as_json:
        print_json(supplier_files.compare_told(told))
        return
    OUT.print(worded.answer(told), markup=False)
    print_table(suppliers.compare_table(told))
    beside = (worded.left_out(told), *certificates.odd(told), *told.suppliers.reasons)
    for sentence in (worded.columns(told), *filter(None, beside)):
        OUT.print(sentence, markup=False)


@app.command(epilog="Example: lotheat verify --json")
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

    ERR.print(f"lotheat is at http://{server.ADDRESS}:{port} - stop it with Ctrl+C", soft_wrap=True)
    server.serve(store, port=port, watch=watch)


app.command(
    epilog="Example: lotheat blend --material 'cayenne powder' --batch-kg 500 --heat 42000"
    " --within 12%"
)(blend)
app.command(
    epilog="Example: lotheat query sqlite:///laboratory.db 'select * from reading'"
    " --profile 'laboratory database'"
)(query)
app.command(epilog="Example: lotheat backup copies/2026-11-20.duckdb")(backup)
app.command(epilog="Example: lotheat restore copies/2026-11-20.duckdb --store new.duckdb")(restore)
app.add_typer(
    people,
    name="people",
    epilog="Example: lotheat people invite 'Mara Quill' --sign-in mara --role administrator",
)
app.add_typer(report, name="report", epilog="Example: lotheat report lot R26-0140 --out r.pdf")

if __name__ == "__main__":
    main()
