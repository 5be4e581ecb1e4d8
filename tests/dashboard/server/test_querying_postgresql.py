"""A PostgreSQL server is asked in a transaction that may only read, and is left as it was."""

import contextlib
import os
import pwd
import shutil
import subprocess
import tempfile
import traceback
from datetime import datetime
from pathlib import Path

import psycopg
import pytest
from psycopg import sql

from dashboard.server.databases.answer import Limits
from dashboard.server.databases.querying import snapshot
from spc.errors import IntakeError

pytestmark = pytest.mark.thorough

NOW = datetime(2026, 11, 20, 7, 30)  # noqa: DTZ001 - only a name is made of it
SECRET = "open/se same"  # noqa: S105 - of the server that the test starts
PROGRAMS = sorted(Path("/usr/lib/postgresql").glob("*/bin"))


class Server:
    """A server of its own on a socket in a folder of its own, that asks for a password."""

    def __init__(self, place):
        self.place = place
        # The server refuses to run as the superuser.
        self.user = None if os.geteuid() else _other_user()
        if self.user:
            shutil.chown(place, self.user)
        (place / "secret").write_text(SECRET)
        (place / "secret").chmod(0o644)
        self._run("initdb", "-D", place / "data", "-U", "mara", "-A", "scram-sha-256",
                  "--pwfile", place / "secret", "-N", "-E", "UTF8", "--locale", "C")  # fmt: skip
        options = f"-k {place} -c listen_addresses='' -c fsync=off -c timezone=Asia/Tokyo"
        self._run("pg_ctl", "-D", place / "data", "-o", options, "-l", place / "log", "-w", "start")

    def _run(self, program, *words):
        subprocess.run(
            [PROGRAMS[-1] / program, *words],
            check=True,
            capture_output=True,
            user=self.user,
            cwd=self.place,
        )

    def stop(self):
        self._run("pg_ctl", "-D", self.place / "data", "-m", "immediate", "stop")

    @property
    def address(self):
        return f"postgresql://mara@/postgres?host={self.place}"

    def own(self, statement):
        with psycopg.connect(
            host=str(self.place), user="mara", password=SECRET, dbname="postgres"
        ) as connection:
            return connection.execute(statement)

    def count(self, table):
        with psycopg.connect(
            host=str(self.place), user="mara", password=SECRET, dbname="postgres"
        ) as connection:
            return connection.execute(
                sql.SQL("select count(*) from {}").format(sql.Identifier(table))
            ).fetchall()[0][0]


def _other_user():
    return next(one.pw_name for one in pwd.getpwall() if one.pw_name in ("postgres", "nobody"))


@pytest.fixture(scope="module")
def server():
    if not PROGRAMS:
        pytest.skip("there is no PostgreSQL under /usr/lib/postgresql (Debian: postgresql)")
    # The path of a socket must be short, and another user must come to it.
    place = Path(tempfile.mkdtemp())
    place.chmod(0o755)
    started = Server(place)
    started.own(
        "create table r as select 'L-1' as lot, 1 as bag, 8.20::numeric as reading,"
        " timestamptz '2026-03-04 08:10:00+00' as moment, true as good"
    )
    started.own(
        "create function sly() returns int language sql as"
        " $$ delete from r; select 1 $$; create sequence s"
    )
    yield started
    started.stop()
    shutil.rmtree(place)


def asked(server, query, **named):
    return snapshot(server.address, query, asked_at=NOW, password=SECRET, **named)


def test_its_answer_is_written_as_any_databases(server):
    answer = asked(server, "select *, '50:30%' as remark, null as n from r where lot like '%';")

    assert answer.name == "query of postgres 2026-11-20 073000.csv"
    assert answer.content.decode() == (
        "lot,bag,reading,moment,good,remark,n\nL-1,1,8.20,2026-03-04 08:10:00,true,50:30%,\n"
    )


def test_a_long_answer_comes_whole_and_one_beyond_the_limit_not_at_all(server):
    query = "select * from generate_series(1, 25001)"

    assert asked(server, query).rows == 25_001
    with pytest.raises(IntakeError, match="more than 25,000 rows"):
        asked(server, query, within=Limits(rows=25_000))


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("with gone as (delete from r returning *) select * from gone", "do more than select"),
        ("select sly()", "do more than select"),
        ("select nextval('s')", "do more than select"),
        ("select set_config('transaction_read_only', 'off', false), sly()", "query"),
        ("select 1 into made", "query"),
        ("select 1; delete from r", "not one statement"),
        ("select 1; commit; delete from r", "not one statement"),
        ("select E'\\'; commit; delete from r; select '", "query"),
        ("select missing from r", "query failed"),
        ("select 1 / 0", "query failed: division by zero"),
    ],
)
def test_nothing_in_it_is_changed_whatever_is_asked(server, query, said):
    with pytest.raises(IntakeError, match=said):
        asked(server, query)

    assert server.count("r") == 1


def test_what_the_server_lets_through_is_rolled_back(server):
    with contextlib.suppress(IntakeError):
        # Newer servers refuse it.
        asked(server, "select lo_create(4711)")

    assert server.count("pg_largeobject_metadata") == 0


def test_a_query_that_takes_too_long_is_broken_off(server):
    with pytest.raises(IntakeError, match=r"longer than 0.3 seconds.*--seconds"):
        asked(server, "select pg_sleep(20)", within=Limits(seconds=0.3))


@pytest.mark.parametrize("given", ["wrong/pass word", ""])
def test_a_wrong_password_is_refused_and_never_said(server, given, monkeypatch):
    monkeypatch.setenv("PGPASSFILE", "/nowhere")
    with pytest.raises(IntakeError, match="cannot be reached") as refusal:
        snapshot(server.address, "select 1", asked_at=NOW, password=given)

    assert "pass word" not in "".join(traceback.format_exception(refusal.value))


def test_a_server_that_does_not_run_cannot_be_reached(tmp_path):
    with pytest.raises(IntakeError, match=r"cannot be reached.*Check its address"):
        snapshot(
            f"postgresql://mara@/lab?host={tmp_path}", "select 1", asked_at=NOW, password=SECRET
        )
