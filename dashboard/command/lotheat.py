"""The `lotheat` command: parse, call, print.  Results go to stdout, everything else to stderr."""

import os
import sys
from collections.abc import Sequence
from importlib.resources import as_file, files
from pathlib import Path
from typing import Annotated, Any

import typer

from dashboard.command import demo_blends
from dashboard.command import replies as command_replies
from dashboard.command.blend import blend
from dashboard.command.keeping import backup, restore
from dashboard.command.link import link
from dashboard.command.people import people
from dashboard.command.query import query
from dashboard.command.report import report
from dashboard.command.terminal import (
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
from dashboard.command.verify import verify
from dashboard.lots import words
from dashboard.server import delivering, replies
from dashboard.suppliers.tables import comparison as tables_comparison
from dashboard.suppliers.tables import files as tables_files
from dashboard.suppliers.words import certificates, comparison
from spc.answers import stocktake
from spc.answers.suppliers import compared
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
    # What it writes is its user's: stores, copies and backups are nobody else's to read.
    os.umask(0o077)
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
            receipts += demo_blends.blends(opened, folder / "blends", by="demo")
            for count_of in ("stock_take.csv", "blends/stock_take.csv"):
                _take_stock(opened, folder / count_of, by="demo", reason="count of 20 November")
    rows = sum(one.rows for one in receipts)
    ERR.print(f"{len(receipts)} files, {rows} rows: the demo store is {path}", soft_wrap=True)
    opened.close()
    if not no_serve:
        _serve(path, port=port)


@app.command(epilog="Example: lotheat serve --store mine.duckdb --port 8600")
def serve(
    store: StoreOption = None,
    *,
    port: PortOption = 8501,
    watch: Annotated[
        Path | None, typer.Option("--watch", help="Take in what is put into this folder.")
    ] = None,
    address: Annotated[
        str, typer.Option("--address", help="Address to listen on; others need --sign-in.")
    ] = "127.0.0.1",
    sign_in: Annotated[
        Path | None,
        typer.Option("--sign-in", help="File (TOML) that says how people sign in; see README."),
    ] = None,
) -> None:
    """Show a store in the browser: to you, or to the people who sign in.

    Without --sign-in it listens on this machine only, and prints a link that lets you in.
    """
    _serve(place(store), port=port, address=address, sign_in=sign_in, watch=watch)


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
        print_json(replies.receipts_told(taken.receipts, taken.refused, taken.held))
    else:
        print_table(replies.receipts_table(taken.receipts))
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
        told = command_replies.review_told(
            opened.lots().set_index("lot").loc[names], opened.verdicts(names), opened.today()
        )
    if as_json:
        print_json({"lots": told})
    else:
        for one in told:
            print_paragraph(*words.reviewed(one))
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
        print_json(command_replies.sweep_told(survey))
    else:
        print_table(command_replies.signals_table(survey).head(most))


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
        print_json(tables_files.compare_told(told))
        return
    OUT.print(comparison.answer(told), markup=False)
    print_table(tables_comparison.compare_table(told))
    beside = (comparison.left_out(told), *certificates.odd(told), *told.suppliers.reasons)
    for sentence in (comparison.columns(told), *filter(None, beside)):
        OUT.print(sentence, markup=False)


def demo_files(folder: Path) -> list[Path]:
    """What the demo store is made from, in the order it is received."""
    profiles = sorted((folder / "profiles").glob("*.toml"))
    raw = sorted(path for path in (folder / "files").rglob("*") if path.is_file())
    return [folder / "catalogue.toml", *profiles, *raw]


def _take_stock(store: Store, path: Path, *, by: str, reason: str) -> int:
    found = stocktake.counts(path.name, path.read_bytes())
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


def _serve(store: Path, *, watch: Path | None = None, **asked: Any) -> None:
    # The server pulls in the whole dashboard; the other commands start without it.
    from dashboard.server import process  # noqa: PLC0415

    process.serve(
        Store.open(store),
        served=process.prepared(**asked),
        watch=watch,
        say=lambda sentence: ERR.print(sentence, markup=False, soft_wrap=True),
    )


app.command(
    epilog="Example: lotheat blend --material 'cayenne powder' --batch-kg 500 --heat 42000"
    " --within 12%"
)(blend)
app.command(
    epilog="Example: lotheat query sqlite:///laboratory.db 'select * from reading'"
    " --profile 'laboratory database'"
)(query)
app.command(epilog="Example: lotheat verify --against anchors.txt")(verify)
app.command(epilog="Example: lotheat backup copies/2026-11-20.duckdb")(backup)
app.command(epilog="Example: lotheat restore copies/2026-11-20.duckdb --store new.duckdb")(restore)
app.command(epilog="Example: lotheat link --store mine.duckdb")(link)
app.add_typer(
    people,
    name="people",
    epilog="Example: lotheat people invite 'Mara Quill' --sign-in mara --role administrator",
)
app.add_typer(report, name="report", epilog="Example: lotheat report lot R26-0140 --out r.pdf")

if __name__ == "__main__":
    main()
