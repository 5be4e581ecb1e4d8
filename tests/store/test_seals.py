# ruff: noqa: S608 - the statements are this file's own
"""Whatever is changed in a store behind its back, verification finds it."""

import json
import re
import shutil
from typing import Final

import duckdb
import pyarrow as pa
import pytest

from spc.errors import ChangedSchema, NotAStore
from spc.store import Store, restore, verification
from spc.store.file import inventory
from spc.store.file.inventory import Named
from spc.store.file.migrations import steps
from spc.store.record import audit, seals

NEWEST: Final = steps()[-1].number
SCHEMA: Final = inventory.columns(NEWEST)
FIRST_ROW: Final = "rowid = (select min(rowid) from {table})"

# By type, a value that is another than the one that stands there.
OTHER: Final = {
    "VARCHAR": "coalesce({column}, '') || 'x'",
    "BLOB": "{column} || 'x'::blob",
    "BOOLEAN": "not {column}",
    "DATE": "{column} + 1",
    "TIMESTAMP": "coalesce({column}, timestamp '2026-01-01') + interval 1 microsecond",
    "INTEGER": "coalesce({column}, 0) + 1",
    "BIGINT": "coalesce({column}, 0) + 1",
    "DOUBLE": "coalesce({column}, 0.0) * 1.0000001 + 1e-9",
}


def changed(table):
    """A change of each column, and of the rows and the table as a whole."""
    for column in SCHEMA[table]:
        (facts,) = inventory.packaged(NEWEST)[Named("column", f"{table}.{column}")]
        kind = next(name for name in OTHER if f"'{name}'" in facts)
        other = OTHER[kind].format(column=f'"{column}"')
        where = FIRST_ROW.format(table=table)
        yield f"column {column}", f'update {table} set "{column}" = {other} where {where}'
    yield "a row deleted", f"delete from {table} where {FIRST_ROW.format(table=table)}"
    yield (
        "a row twice",
        f"insert into {table} select * from {table} where {FIRST_ROW.format(table=table)}",
    )
    yield "no row left", f"delete from {table}"
    yield "the table dropped", f"drop table {table}"
    yield "a column added", f"alter table {table} add column more varchar"
    yield "a default set", f"alter table {table} alter column {SCHEMA[table][0]} set default 7"


@pytest.fixture(scope="module")
def full(full_store_file, tmp_path_factory):
    """A store in which everything has happened, open."""
    path = tmp_path_factory.mktemp("full") / "lots.db"
    with Store.open(shutil.copy(full_store_file, path)) as store:
        yield store


@pytest.fixture
def faults_after(full):
    """What verification says of the store after statements, of which nothing is kept."""

    def found(*statements):
        with full._connection.supposing() as cursor:
            for statement in statements:
                cursor.execute(statement)
            return verification.verify(cursor).faults

    return found


def test_a_store_in_which_everything_happened_has_no_empty_table_and_is_whole(full):
    with full._connection.read() as cursor:
        empty = [
            table
            for table in SCHEMA
            if cursor.execute(f"select count(*) from {table}").fetchone() == (0,)
        ]

    assert empty == []
    assert full.verify().faults == ()


def test_every_table_is_sealed_or_named_as_one_that_is_not():
    assert set(SCHEMA) == {*seals.tables(NEWEST), *seals.OUTSIDE}
    for table, columns in seals.tables(NEWEST).items():
        # What is not hashed is hashed by the digest beside it, which verification computes again.
        assert set(SCHEMA[table]) - set(columns) in ({"bytes"}, set())


@pytest.mark.parametrize("table", sorted(SCHEMA.keys() - {"session", "sign_in_count"}))
def test_every_change_of_a_table_is_found(faults_after, table):
    missed = [what for what, statement in changed(table) if not faults_after(statement)]

    assert missed == []


@pytest.mark.parametrize(
    ("table", "sentence"),
    [
        (
            "attachment",
            r"attachment: what audit entry \d+ \(attached a file HOT\) seals",
        ),
        (
            "baseline",
            r"baseline: what audit entry \d+ \(froze a baseline cayenne powder,",
        ),
        (
            "stock_move",
            r"stock move: what audit entry \d+ \(counted stock MILD\) seals",
        ),
        ("receipt", r"receipt: what audit entry 1 \(received catalogue\.toml\) seals was changed"),
    ],
)
def test_a_changed_row_is_named_by_what_it_is_and_the_entry_it_was_written_with(
    faults_after, table, sentence
):
    column, where = SCHEMA[table][0], FIRST_ROW.format(table=table)

    (fault,) = faults_after(f"update {table} set {column} = 'other' where {where}")

    assert re.match(sentence, fault)


# What a file can hold besides rows, and how it is named.
PLANTED: Final = {
    "a view turned round": (
        "create or replace view current_result as select * from result",
        "the view current_result is not the one that lotheat makes.",
    ),
    "a macro named like a function of the engine": (
        "create macro json_array(a, b) as 'forged'",
        "there is a macro json_array that no lotheat makes.",
    ),
    "a macro named like an operator": (
        'create macro "||"(a, b) as a',
        "there is a macro || that no lotheat makes.",
    ),
    "a macro in the place of the catalogue": (
        "create macro duckdb_tables() as table select 'lot' as table_name",
        "there is a macro duckdb_tables that no lotheat makes.",
    ),
    "a view that reads a file": (
        "create view letters as select * from read_text('/etc/hostname')",
        "there is a view letters that no lotheat makes.",
    ),
    "a table": (
        "create table ghost (name varchar)",
        "there is a table ghost that no lotheat makes.",
    ),
    "a table in another schema": (
        "create schema other; create table other.lot as select * from lot",
        "there is a schema other that no lotheat makes.",
    ),
    "an index": (
        "create unique index one_lot on lot (lot)",
        "there is a index one_lot that no lotheat makes.",
    ),
    "a sequence": (
        "create sequence numbers",
        "there is a sequence numbers that no lotheat makes.",
    ),
    "a type": (
        "create type decision as enum ('accepted', 'rejected')",
        "there is a type decision that no lotheat makes.",
    ),
    "a default": (
        "alter table lot alter column currency set default 'EUR'",
        "the column lot.currency is not the one that lotheat makes.",
    ),
    "a column that may be empty": (
        "alter table lot alter column currency drop not null",
        "the constraint lot.lot_currency_not_null is missing.",
    ),
    "a table missing": ("drop table investigation", "the table investigation is missing."),
    "a comment": (
        "comment on table lot is 'checked by the auditor'",
        "the table lot is not the one that lotheat makes.",
    ),
}


# The engine of an open store refuses to make a view of a file.
@pytest.mark.parametrize("what", sorted(PLANTED.keys() - {"a view that reads a file"}))
def test_what_is_planted_in_a_store_is_found_and_named(faults_after, what):
    statement, sentence = PLANTED[what]

    assert sentence in faults_after(statement)


@pytest.mark.parametrize("what", PLANTED)
def test_a_file_with_something_planted_is_neither_opened_nor_restored(
    full_store_file, tmp_path, what
):
    path = shutil.copy(full_store_file, tmp_path / "lots.db")
    statement, sentence = PLANTED[what]
    with duckdb.connect(str(path)) as database:
        database.execute(statement)

    for read_only in (False, True):
        with pytest.raises(ChangedSchema) as problem:
            Store.open(path, read_only=read_only)
        assert sentence in problem.value.faults
    assert sentence in restore(path, tmp_path / "restored.db").faults
    assert not (tmp_path / "restored.db").exists()


def test_nothing_in_a_file_is_run_before_it_is_known(tmp_path):
    """The table of steps is a view, which would read what it likes if it were asked."""
    path, told = tmp_path / "lots.db", tmp_path / "told.csv"
    told.write_text("number,name\n1,0001_the_house.sql\n")
    with duckdb.connect(str(path)) as database:
        database.execute(f"create view schema_step as select * from read_csv('{told}')")
        database.execute("create macro duckdb_views() as table select 1 as view_name")
    told.unlink()

    with pytest.raises(NotAStore, match="macro duckdb_views, view schema_step"):
        Store.open(path)


def test_a_store_reads_no_other_file(full):
    with (
        full._connection.read() as cursor,
        pytest.raises(duckdb.PermissionException, match="disabled"),
    ):
        cursor.execute("select * from read_text('/etc/hostname')")


# Values that are of the right type and make no sense.
BROKEN: Final = {
    "no JSON in the chain": "update audit set detail = '{' where sequence = 3",
    "another kind of JSON in the chain": "update audit set detail = '[1]' where sequence = 3",
    "JSON without an end": "update audit set detail = repeat('[', 100000) where sequence = 3",
    "no seal": "update audit set sealed = '' where sequence = 3",
    "half a seal": """update audit set sealed = '{"rows":{"lot":7},"step":5}' where sequence = 3""",
    "a time beyond the calendar": "update audit set entered_at = 'infinity' where sequence = 3",
    "a clock beyond the calendar": "update audit set clock = '-infinity' where sequence = 3",
    "a decision beyond the calendar": "update disposition set decided_at = 'infinity'",
    "no number": "update result set value_low = 'nan'::double",
    "an infinite number": "update result set reading = 'infinity'::double",
    "no reading": "update result set reading = null",
    "no JSON in factors": "update result set factors = 'none'",
    "a list in factors": "update result set factors = '[1]'",
    "no JSON in parts": "update result set parts = '7'",
    "no such unit": "update result set unit = 'furlong', reading_unit = 'furlong'",
    "no JSON in evidence": "update disposition set evidence = '{'",
    "no JSON in a baseline": "update baseline set lots = 'x', rules = ''",
    "no JSON in a recipe": "update blend set recipe = '{'",
    "no text of a profile": "update source_profile set text = ''",
    "an empty file": "update receipt set bytes = ''::blob",
    "the marks of hashing in a text": "update lot set currency = chr(31) || chr(27)",
    "an entry that is negative": "update lot set entry = -5",
    "a huge number of an entry": "update lot set entry = 9223372036854775807",
    "a huge number in the chain": "update audit set sequence = 9223372036854775807"
    " where sequence = 3",
}


@pytest.mark.parametrize("what", BROKEN)
def test_a_broken_value_is_a_fault_with_a_name_and_no_breakdown(faults_after, what):
    found = faults_after(BROKEN[what])

    assert found
    assert all(fault.strip() for fault in found)


def test_a_row_moved_under_another_entry_is_found(faults_after):
    assert faults_after("update disposition set entry = entry - 1 where decision = 'rejected'")


def test_an_entry_that_seals_everything_anew_is_found(full):
    """What somebody with the file would append, to have a change sealed as found."""
    with full._connection.supposing() as cursor:
        cursor.execute("update lot set currency = 'USD'")
        audit.record(
            cursor,
            actor="lotheat",
            action=audit.FOUND,
            subject="store",
            detail={"from": NEWEST - 1, "to": NEWEST, "faults": []},
            found=True,
        )
        faults = verification.verify(cursor).faults

    assert any("a step of the schema that was not taken there" in fault for fault in faults)


def test_a_copy_moves_no_row_and_no_seal(full, tmp_path):
    full.backup(tmp_path / "copy.db")

    with Store.open(tmp_path / "copy.db") as store:
        assert store.verify().faults == ()
        assert store.verify().checked == full.verify().checked


@pytest.mark.parametrize("signs", ["\x1f", "\x00", "\x1b", "\x1bf", "\x1f\x00"])
def test_no_two_rows_have_one_text(signs):
    """The marks between texts may stand in a text; it is hashed otherwise than two texts."""
    rows = [("a", f"b{signs}c"), (f"a{signs}b", "c"), (f"a{signs}", "bc"), ("a", None), ("a", "")]
    rows += [("a", "\x00"), ("ab", "c"), ("a", "bc")]
    together = pa.RecordBatch.from_arrays(
        [pa.array(column) for column in zip(*rows, strict=True)], names=["first", "second"]
    )

    digests = seals.row_digests(together)
    each = [digests[start : start + 32] for start in range(0, len(digests), 32)]

    assert len(set(each)) == len(set(rows))
    # A row has one digest whatever stands beside it.
    assert each == [seals.row_digests(together.slice(number, 1)) for number in range(len(rows))]


def test_a_seal_does_not_hang_on_the_order_of_rows_or_on_how_many_are_read_at_a_time(
    full, monkeypatch
):
    def sealed():
        with full._connection.read() as cursor:
            return {
                table: seals.standing(cursor, table, found_until=0, step=NEWEST)
                for table in seals.tables(NEWEST)
            }

    before = sealed()
    for at_once in (1, 7):
        monkeypatch.setattr(seals, "_AT_ONCE", at_once)
        assert sealed() == before


def test_what_an_entry_seals_can_be_read(full):
    with full._connection.read() as cursor:
        (sealed,) = cursor.execute(
            "select sealed from audit where action = 'signed: rejected'"
        ).fetchone()

    told = json.loads(sealed)
    assert told["step"] == NEWEST
    assert {table: rows for table, (rows, _) in told["rows"].items()} == {"disposition": 1}
