"""The `lotheat` command: every verb by its name, in the order of the help."""

import os
import sys

import typer

from dashboard.command.backup import backup
from dashboard.command.blend import blend
from dashboard.command.compare import compare
from dashboard.command.count import count
from dashboard.command.demo import demo
from dashboard.command.link import link
from dashboard.command.people import people
from dashboard.command.propose import propose
from dashboard.command.query import query
from dashboard.command.receive import receive
from dashboard.command.report import report
from dashboard.command.restore import restore
from dashboard.command.review import review
from dashboard.command.runs import runs
from dashboard.command.serve import serve
from dashboard.command.specifications import specifications
from dashboard.command.sweep import sweep
from dashboard.command.terminal import ERR, Exit
from dashboard.command.verify import verify
from spc.errors import LotHeatError, StoreError

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

app.command(epilog="Example: lotheat demo --store demo.duckdb --no-serve")(demo)
app.command(epilog="Example: lotheat serve --store mine.duckdb --port 8600")(serve)
app.command(epilog="Example: lotheat receive catalogue.toml sensor.toml march.csv")(receive)
app.command(epilog="Example: lotheat propose march.csv --out mill.toml")(propose)
app.command(epilog="Example: lotheat count stock_take.csv")(count)
app.command(epilog="Example: lotheat review R26-0140 --json")(review)
app.command(epilog="Example: lotheat sweep --json")(sweep)
app.command(epilog="Example: lotheat compare 'cayenne powder' --json")(compare)
app.command(
    epilog="Example: lotheat blend --material 'cayenne powder' --batch-kg 500 --heat 42000"
    " --within 12%"
)(blend)
app.command(
    epilog="Example: lotheat query sqlite:///laboratory.db 'select * from reading'"
    " --profile 'laboratory database'"
)(query)
app.command(epilog="Example: lotheat verify --against anchors.txt")(verify)
app.command(epilog="Example: lotheat runs --json")(runs)
app.command(epilog="Example: lotheat backup copies/2026-11-20.duckdb")(backup)
app.command(epilog="Example: lotheat restore copies/2026-11-20.duckdb --store new.duckdb")(restore)
app.command(epilog="Example: lotheat link --store mine.duckdb")(link)
app.add_typer(
    people,
    name="people",
    epilog="Example: lotheat people invite 'Mara Quill' --sign-in mara --role administrator",
)
app.add_typer(
    specifications,
    name="specifications",
    epilog="Example: lotheat specifications approve 'cayenne powder' --reason 'yearly review'",
)
app.add_typer(report, name="report", epilog="Example: lotheat report lot R26-0140 --out r.pdf")


def main() -> None:
    """Run the command and end the process with its exit code."""
    # What it writes is its user's: stores, copies and backups are nobody else's to read.
    os.umask(0o077)
    try:
        app()
    except LotHeatError as problem:
        ERR.print(f"lotheat: {problem}", style="bold", soft_wrap=True)
        sys.exit(Exit.STORE if isinstance(problem, StoreError) else Exit.REFUSED)


if __name__ == "__main__":
    main()
