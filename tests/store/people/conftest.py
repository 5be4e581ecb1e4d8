"""A house with people of every role, whose clock is stepped by the test."""

import shutil
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest

from spc.store.connection import Connection
from spc.store.desks.people_desk import PeopleDesk
from spc.store.desks.signing_desk import SigningDesk
from spc.store.file.cursors import Cursor
from spc.store.people import Actor, Entry, Proof, Request
from tests.staff import FAST, STAFF, secret_of


@dataclass
class Clock:
    """Tells the moment it was set to."""

    at: datetime = datetime(2026, 3, 4, 8, 0)  # noqa: DTZ001 - the store keeps UTC without zone

    def __call__(self, _cursor: Cursor | None = None) -> datetime:
        return self.at

    def step(self, **much: float) -> None:
        self.at += timedelta(**much)


@dataclass
class Lots:
    """What is decided of lots, and on what; stands in for the rules of a deed."""

    evidence: dict[str, str] = field(default_factory=dict)
    done: list[tuple[str, str, int]] = field(default_factory=list)

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        assert cursor.execute("select 1").fetchone()
        return {"evidence": self.evidence.get(request.subject, "as it was")}

    def news(self, cursor: Cursor, request: Request) -> str:
        assert cursor.execute("select 1").fetchone()
        return f"it is {self.evidence[request.subject]}"

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:
        assert actor.name
        assert cursor.execute("select $at", {"at": at}).fetchone()
        if self.evidence.get(request.subject) == "impossible":
            raise ZeroDivisionError
        self.done.append((request.subject, request.meaning, len(request.signatures)))


class House:
    """One store with the desks of its people."""

    def __init__(self, path: Path, clock: Clock) -> None:
        self.path = path
        self.clock = clock
        self.lots = Lots()
        self.connection = Connection(path)
        self.people = PeopleDesk(self.connection, clock=clock, cost=FAST)
        business = dict.fromkeys(
            (
                "accept a lot",
                "concede a lot",
                "hold a lot",
                "release a lot over a hold",
                "issue one's own blend",
            ),
            self.lots,
        )
        self.signing = SigningDesk(self.connection, clock=clock, business=business)

    def enter(self, sign_in: str) -> str:
        """Register one of the staff, who accepts at once; the key of their session."""
        name, roles = STAFF[sign_in]
        entry = Entry(name=name, sign_in=sign_in, roles=roles)
        code = self.people.invite(entry, by=self.administrator(), reason="joins the house")
        return self.people.accept(code, secret=secret_of(sign_in))

    def administrator(self) -> Proof:
        return self.people.system_user() if self.people.alone else self.signed("mara")

    def signed(self, sign_in: str) -> Proof:
        """A proof that one of the staff has just given their secret."""
        return self.people.signing_as(sign_in, secret=secret_of(sign_in))

    def session(self, sign_in: str) -> str:
        return self.people.sign_in(sign_in, secret=secret_of(sign_in))

    def entries(self) -> list[tuple[str, str, str]]:
        """Actor, action and subject of every entry of the audit chain."""
        with self.connection.read() as cursor:
            return cursor.execute(
                "select actor, action, subject from audit order by sequence"
            ).fetchall()

    def run(self, query: str) -> Any:
        """What the file holds, read past the desks."""
        with self.connection.read() as cursor:
            return cursor.execute(query).fetchall()

    def run_behind(self, statement: str) -> None:
        """Change the file past the desks."""
        self.connection.write(lambda cursor: cursor.execute(statement), token=statement)


@pytest.fixture(scope="session")
def house_file(tmp_path_factory):
    """The house with its whole staff, closed."""
    path = tmp_path_factory.mktemp("house") / "house.db"
    house = House(path, Clock())
    for sign_in in STAFF:
        house.enter(sign_in)
    house.connection.close()
    return path


@pytest.fixture
def house(house_file, tmp_path) -> Iterator[House]:
    """The house with its whole staff."""
    opened = House(Path(shutil.copy(house_file, tmp_path / "house.db")), Clock())
    yield opened
    opened.connection.close()


@pytest.fixture
def empty_house(tmp_path) -> Iterator[House]:
    """A house in which nobody has ever signed in."""
    opened = House(tmp_path / "empty.db", Clock())
    yield opened
    opened.connection.close()
