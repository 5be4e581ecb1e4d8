"""`lotheat demo`: the demo store made from its raw files, and shown."""

from functools import partial
from importlib.resources import as_file, files
from pathlib import Path
from typing import Annotated, Final

import typer

from dashboard.command import demo_blends, demo_people
from dashboard.command.count import take_stock
from dashboard.command.serve import show
from dashboard.command.terminal import ERR, PortOption, StoreOption, print_table, progress, usual
from dashboard.server import delivering
from demo_data import DAY
from spc.store import Store
from spc.store.people import CUT_OVER, STANDS_STILL, Proof

# Who brings the demo's files.
BRINGS: Final = "Ines Valbo"


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
        people = demo_people.invented(folder)
        staff = demo_people.Staff(opened, people)
        staff.enter()
        by = staff.session(BRINGS)
        paths = demo_files(folder)
        with progress("receiving", total=len(paths)) as tick:
            take = partial(delivering.into, opened, profile=None, by=by, tick=tick)
            receipts = take(paths[:1]).receipts
            _begin(opened, staff.proof(people[0].name))
            receipts += take(paths[1:]).receipts
        if not all(one.again for one in receipts):
            receipts += demo_blends.blends(opened, folder / "blends", by=by, proof=staff.proof)
            for count_of in ("stock_take.csv", "blends/stock_take.csv"):
                take_stock(opened, folder / count_of, by=by, reason="count of 20 November")
    rows = sum(one.rows for one in receipts)
    ERR.print(f"{len(receipts)} files, {rows} rows: the demo store is {path}", soft_wrap=True)
    opened.close()
    if not no_serve:
        print_table(demo_people.table(people), on=ERR)
        ERR.print(
            "Try what needs two persons in two windows, the second one private: each signs in"
            " with name and secret.",
            soft_wrap=True,
        )
        show(path, port=port, visitor=demo_people.visitor(people))


def _begin(store: Store, by: Proof) -> None:
    """Sign the demo's day, the first of its record too: what is older came from elsewhere."""
    if store.people.stands_still is None:
        store.people.set_rule(STANDS_STILL, DAY, by=by, reason="its files are of this day")
    if store.people.first_day is None:
        store.people.set_rule(CUT_OVER, DAY, by=by, reason="first day of this record")


def demo_files(folder: Path) -> list[Path]:
    """What the demo store is made from, in the order it is received."""
    profiles = sorted((folder / "profiles").glob("*.toml"))
    raw = sorted(path for path in (folder / "files").rglob("*") if path.is_file())
    return [folder / "catalogue.toml", *profiles, *raw]
