"""`lotheat demo`: the demo store made from its raw files, and shown."""

from importlib.resources import as_file, files
from pathlib import Path
from typing import Annotated

import typer

from dashboard.command import demo_blends
from dashboard.command.count import take_stock
from dashboard.command.serve import show
from dashboard.command.terminal import ERR, PortOption, StoreOption, progress, usual
from dashboard.server import delivering
from spc.store import Store
from spc.store.people import CUT_OVER, Proof


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
        by = opened.people.system_user()
        with progress("receiving", total=len(paths)) as tick:
            receipts = []
            for several in (paths[:1], paths[1:]):
                taken = delivering.into(opened, several, profile=None, by=by, tick=tick)
                receipts += taken.receipts
                _begin(opened, by)
        if not all(one.again for one in receipts):
            receipts += demo_blends.blends(opened, folder / "blends", by=by)
            for count_of in ("stock_take.csv", "blends/stock_take.csv"):
                take_stock(opened, folder / count_of, by=by, reason="count of 20 November")
    rows = sum(one.rows for one in receipts)
    ERR.print(f"{len(receipts)} files, {rows} rows: the demo store is {path}", soft_wrap=True)
    opened.close()
    if not no_serve:
        show(path, port=port)


def _begin(store: Store, by: Proof) -> None:
    """Sign the first day of the demo's record: what was decided before it came from elsewhere."""
    if store.people.first_day is None:
        day = store.today().isoformat()
        store.people.set_rule(CUT_OVER, day, by=by, reason="first day of this record")


def demo_files(folder: Path) -> list[Path]:
    """What the demo store is made from, in the order it is received."""
    profiles = sorted((folder / "profiles").glob("*.toml"))
    raw = sorted(path for path in (folder / "files").rglob("*") if path.is_file())
    return [folder / "catalogue.toml", *profiles, *raw]
