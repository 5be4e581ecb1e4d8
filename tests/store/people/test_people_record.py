"""Nothing of people and signatures can be changed behind the store's back without being found."""

# ruff: noqa: S608 - the statements are this file's own
import re
import shutil
from dataclasses import replace
from datetime import timedelta
from importlib.resources import files
from pathlib import Path

import pytest

from spc.store import Store
from spc.store.file.migrations import steps
from spc.store.people import CUT_OVER, Ask, Grant
from spc.store.record import seals
from spc.store.verification import verify
from tests.rounds import LONG
from tests.store.people.conftest import Clock, House

ASK = Ask(
    deed="concede a lot",
    subject="L-1",
    about={"until": "2027-01-31"},
    rests_on={"evidence": "as it was"},
    meaning="accepted under concession",
    reason="for the sauce only",
)
TABLES = (
    "person_event",
    "invitation",
    "account",
    "token_event",
    "house_rule",
    "signing_request",
    "request_event",
    "signature",
)
# Change without a trace: who is signed in, and how often somebody mistyped.
OUTSIDE = ("session", "sign_in_count")


@pytest.fixture(scope="module")
def eventful_file(house_file, tmp_path_factory):
    """The house after everything has happened once, closed."""
    path = shutil.copy(house_file, tmp_path_factory.mktemp("eventful") / "house.db")
    house = House(Path(path), Clock())
    grant = Grant(sender="Bench 2", scope=("look",), until=house.clock.at + timedelta(days=3))
    house.people.issue_token(grant, by=house.signed("mara"), reason="new instrument")
    house.people.set_rule(CUT_OVER, "2026-03-01", by=house.signed("mara"), reason="first day")
    for_sauce, for_paste = (
        house.signing.ask(replace(ASK, reason=reason), by=house.signed("ines")).request
        for reason in ("for the sauce only", "for the paste only")
    )
    house.signing.sign(for_sauce, for_paste, by=house.signed("ines"))
    house.signing.decline(for_paste, by=house.signed("mara"), reason="not this one")
    house.connection.close()
    return house.path


@pytest.fixture(scope="module")
def eventful(eventful_file):
    """The house after everything has happened once; what is tried in it is never kept."""
    opened = House(eventful_file, Clock())
    assert found(opened) == []
    yield opened
    assert found(opened) == []
    opened.connection.close()


def found(house, *statements):
    """What is found after statements were run behind the store's back; nothing of them is kept."""
    with house.connection.supposing() as cursor:
        for statement in statements:
            cursor.execute(statement)
        return list(verify(cursor).faults)


CHANGED = {
    "VARCHAR": "{0} || 'x'",
    "BIGINT": "{0} + 100",
    "INTEGER": "{0} + 100",
    "TIMESTAMP": "{0} + interval 1 second",
    "BOOLEAN": "not {0}",
}


@pytest.mark.thorough
def test_every_column_that_is_changed_is_found(eventful):
    """Each is changed by itself in the long round, and every third one in the whole round."""
    cells = eventful.run("select table_name, column_name, data_type from duckdb_columns()")
    mine = [cell for cell in cells if cell[0] in {*TABLES, "account_secret"}]

    missed = [
        (table, column)
        for table, column, kind in mine[:: 1 if LONG else 3]
        if not found(
            eventful,
            f"update {table} set {column} = {CHANGED[kind].format(column)}"
            f" where rowid = (select min(rowid) from {table})",
        )
    ]

    assert {table for table, _, _ in mine} == {*TABLES, "account_secret"}
    assert missed == []


@pytest.mark.parametrize("table", [*TABLES, "account_secret"])
@pytest.mark.parametrize(
    "statement",
    [
        "delete from {0} where rowid = (select max(rowid) from {0})",
        "insert into {0} select * from {0} limit 1",
    ],
    ids=["deleted", "doubled"],
)
def test_every_row_that_is_deleted_or_doubled_is_found(eventful, table, statement):
    assert found(eventful, statement.format(table))


def test_every_table_of_people_is_covered_or_said_to_be_outside():
    (step,) = [path for path in (files("spc.store") / "schema").iterdir() if "people" in path.name]

    made = re.findall(r"create table (\w+)", step.read_text(encoding="utf-8"))

    assert set(made) == {*TABLES, "account_secret", *OUTSIDE}
    assert {*TABLES, "account_secret"} <= seals.tables(steps()[-1].number).keys()


def test_another_s_hash_in_the_place_of_one_s_own_is_found(eventful):
    swapped = "update account_secret set encoded = (select max(encoded) from account_secret)"

    assert any("is not the one that they chose" in fault for fault in found(eventful, swapped))


def test_an_invitation_written_into_the_file_is_found(eventful):
    written = (
        "insert into invitation select 'abc', 99, person, 'mara', invited_at, until, entry"
        " from invitation limit 1"
    )

    assert any(fault.startswith("invitation: ") for fault in found(eventful, written))


def test_a_store_in_which_people_signed_is_whole(eventful_file, tmp_path):
    with Store.open(shutil.copy(eventful_file, tmp_path / "house.db")) as store:
        outcome = store.verify()

    assert (outcome.faults, outcome.checked["secrets and signatures"] > 0) == ((), True)
