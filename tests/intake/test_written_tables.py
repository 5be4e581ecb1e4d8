"""A table written out in any text shape that can be read is stored equal, or waits."""

import csv
import io
import shutil
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from spc.store import Store
from tests.staff import ME

PROFILE = """
profile = "written {name}"
[file]
delimiter = "{delimiter}"
decimal = "{decimal}"
thousands = "{thousands}"
date_format = "{date}"
[columns]
lot = "Lot {name}"
sample = "Bag"
measured_at = "On"
[[measure]]
characteristic = "moisture"
method = "moisture balance"
reading = "Water"
unit = "%"
"""
# Name to delimiter, decimal sign, thousands sign, and form of date.
SHAPES = {
    "a": (",", ".", "", "%Y-%m-%d"),
    "b": (";", ",", ".", "%d.%m.%Y"),
    "c": ("\t", ",", " ", "%d/%m/%Y"),
    "d": ("|", ".", ",", "%m/%d/%Y"),
}
ROW = st.tuples(
    st.sampled_from(["L-1", "L-2"]),
    st.integers(1, 400),
    st.dates(date(2026, 1, 1), date(2026, 3, 1)),
    st.decimals("0.01", "99", places=2),
)
DRESSES = ["{}", "{}%", "{} %", "{} ± 0.1", " {} ", "{} g/100 g"]


@pytest.fixture(scope="module")
def store(small_store_file, tmp_path_factory):
    path = tmp_path_factory.mktemp("written") / "lots.db"
    with Store.open(shutil.copy(small_store_file, path)) as opened:
        for name, (delimiter, decimal, thousands, form) in SHAPES.items():
            text = PROFILE.format(
                name=name, delimiter=delimiter.replace("\t", "\\t"), decimal=decimal,
                thousands=thousands, date=form,
            )  # fmt: skip
            opened.receive_bytes(f"{name}.toml", text.encode(), by=ME)
        yield opened


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.sampled_from(sorted(SHAPES)),
    st.lists(ROW, min_size=1, max_size=8, unique_by=lambda row: row[:2]),
    st.sampled_from(DRESSES),
    st.booleans(),
    st.booleans(),
)
def test_what_is_stored_of_a_table_equals_it(store, shape, rows, dress, sideways, padded):
    delimiter, decimal, _, form = SHAPES[shape]
    table = [[f"Lot {shape}", "Bag", "On", "Water"]]
    for lot, bag, day, value in rows:
        number = f"{value}".replace(".", decimal)
        text = dress.replace("0.1", f"0{decimal}1").format(number)
        table.append([lot, f"{bag:03d}" if padded else str(bag), day.strftime(form), text])
    if sideways and len({row[0] for row in rows}) == len(rows):
        table = [list(line) for line in zip(*table, strict=True)]
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter).writerows(table)

    receipt, fate = store.preview("written.csv", out.getvalue().encode(), by=ME)

    stored = {
        (one.lot, one.sample, one.measured_at.date(), round(one.value_high, 6))
        for one in fate.results.itertuples()
    }
    assert stored <= {(lot, str(bag), day, float(value)) for lot, bag, day, value in rows}
    assert receipt.rows == len(rows) == len(stored) + len(fate.held)
