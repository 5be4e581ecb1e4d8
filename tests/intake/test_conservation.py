"""Whatever a file holds, no row of it is lost, and nothing it holds stops the store."""

import csv
import io
import shutil
import tempfile
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from spc.errors import IntakeError
from spc.store import Store
from tests.rounds import tries
from tests.staff import ME

# Cells as they should be, few enough that rows repeat and contradict each other.
GOOD = {
    "sensor": (
        ["L-1", "L-2"],
        ["1", "2", "1|2"],
        ["1", "2|1"],
        ["2026-03-04 10:00:00", "2026-03-05 11:30:00"],
        ["0.1", "0.1002"],
        ["10"],
        ["1", "10"],
        ["5", "12.5", "7.25", "<0.5", ">35", "41", "0.1", "<LOQ"],
        ["µmol/L", "umol/L", "mg/kg", "SHU"],
    ),
    "register": (
        ["L-1", "L-3", "L-4", "L|5", "💥"],
        ["cayenne powder"],
        ["North Mill", "South Mill", "NORTH MILL"],
        ["2026-03-02", "2026-03-03"],
        ["2025", ""],
        ["40", ""],
        ["25", "12.5", ""],
        ["41000", "41,000", "38500", ""],
        ["2026-02-20", ""],
    ),
    "laboratory": (
        ["L-1", "L-2"],
        ["2026-03-04", "2026-03-05", ""],
        ["1000", "950", "<LOQ"],
        ["500", "<5", "0"],
        ["0.7", "<0.5", "", "-"],
        ["absent", "detected", ""],
    ),
    "decisions": (
        ["L-1", "L-2"],
        ["accepted", "on hold", "Rejected"],
        ["2026-03-05", "2026-03-06"],
        ["Mara Quill", "Ines Valbo"],
        ["QA", ""],
        ["ok", ""],
    ),
}
ODD = st.one_of(
    st.sampled_from(
        [
            *("", "n.d.", "-3", "0", "1e999", "1e300", "1e-320", "1e308", "40.000", "41,500", "<0"),
            *(">0", "≤ 4", "5\n6", "=1+1", "null", "9" * 60, "٣", "2025.5", "1e12", "L-9", "l-1"),
            *("now", "2026-02-30", "9999-12-31 23:59:59", "0001-01-01", "maybe", "furlong", "%"),
        ]
    ),
    st.text(st.characters(exclude_categories=["Cs"], exclude_characters="\0"), max_size=6),
)


@st.composite
def tables(draw):
    """A source and rows of it: most are good, some have a cell spoiled, lost or added."""
    source = draw(st.sampled_from(["sensor", "sensor", "register", "laboratory", "decisions"]))
    columns = GOOD[source]
    table = []
    for _ in range(draw(st.integers(0, 10))):
        row = [draw(st.sampled_from(cells)) for cells in columns]
        if draw(st.integers(0, 2)) == 0:
            spoiled = draw(st.integers(0, len(row)))
            row[spoiled : spoiled + 1] = [draw(ODD)]
        table.append(row)
    return source, table


def as_bytes(header: bytes, table: list[list[str]]) -> bytes:
    out = io.StringIO(newline="")
    csv.writer(out).writerows(table + table[:2])
    return header + out.getvalue().encode()


@settings(
    max_examples=tries(8, many=300),
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(tables())
def test_no_row_is_lost_and_receiving_again_changes_nothing(
    small_store_file, source_file, contents, table
):
    source, cells = table
    content = as_bytes(source_file(source), cells)
    with tempfile.TemporaryDirectory() as folder:
        path = shutil.copy(small_store_file, Path(folder) / "lots.db")
        with Store.open(path) as store:
            before = contents(store)
            try:
                receipt = store.receive_bytes(f"{source}.csv", content, by=ME)
            except IntakeError:
                # Only a file that is no table may be refused, and then as a whole.
                after = contents(store)
                assert {**after, "audit": []} == {**before, "audit": []}
                return
            after = contents(store)

            held = store.held(receipt.receipt)
            assert receipt.rows == receipt.stored + receipt.held + receipt.known
            assert len(held) == receipt.held
            brought = {
                row
                for query in ("result", "lot", "disposition")
                for row in _rows_of(store, query, receipt.receipt)
            }
            assert len(brought) == receipt.stored
            assert not brought & set(held["source_row"])

            again = store.receive_bytes("other name.csv", content, by=ME)
            assert (again.rows, again.known, again.again) == (receipt.rows, receipt.rows, True)
            assert contents(store) == after

            assert store.verify().ok
            store.sweep()


def _rows_of(store: Store, table: str, receipt: str) -> list[int]:
    if table == "disposition":
        frame = store.dispositions()
        mine = frame[frame["receipt"] == receipt]
        return [int(name.rsplit("-", 1)[1]) for name in mine["disposition"]]
    frame = store.results() if table == "result" else store.lots()
    return [int(row) for row in frame.loc[frame["receipt"] == receipt, "source_row"]]
