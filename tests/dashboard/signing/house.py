"""A store whose people sign, and what is decided there of lots with no rules of their own."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import Any
from urllib.parse import urlencode

from starlette.applications import Starlette
from starlette.testclient import TestClient

from dashboard.frame import acting, session
from dashboard.gate.cookie import Cookie
from dashboard.signing.page import SigningPage
from spc.store import Store
from spc.store.desks.people_desk import PeopleDesk
from spc.store.desks.signing_desk import SigningDesk
from spc.store.file.cursors import Cursor
from spc.store.people import Actor, Ask, Entry, Request
from tests.staff import FAST, STAFF, secret_of

COOKIE = Cookie(name="lotheat", secure=False)


@dataclass
class Lots:
    """What is decided of lots, and on what; stands in for the rules of a deed."""

    evidence: dict[str, str] = field(default_factory=dict)
    done: list[str] = field(default_factory=list)

    def rests_on(self, _cursor: Cursor, request: Request) -> Mapping[str, Any]:
        return {"evidence": self.evidence.get(request.subject, "as it was")}

    def news(self, _cursor: Cursor, request: Request) -> str:
        return f"{self.evidence[request.subject]} came"

    def carry_out(self, _cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:
        assert at
        assert actor.signed or actor.way == "system user"
        self.done.append(request.subject)


class House(Store):
    """A store whose requests about lots are carried out by `lots`."""

    lots: Lots

    @property
    def signing(self) -> SigningDesk:
        deeds = ("accept a lot", "concede a lot")
        return SigningDesk(self._connection, business=dict.fromkeys(deeds, self.lots))


class Screen:
    """A browser at the page of signatures, signed in as one of the staff."""

    def __init__(self, house: House, sign_in: str) -> None:
        self.house = house
        self.name = sign_in
        self.key = house.people.sign_in(sign_in, secret=secret_of(sign_in)) if sign_in else ""
        self._client = TestClient(
            Starlette(routes=SigningPage(cookie=COOKIE).routes()),
            cookies={COOKIE.name: self.key} if self.key else {},
            base_url="http://127.0.0.1",
        )
        session.hold(house)
        acting.hold(lambda: self.key)

    def ask(self, lot: str, deed: str = "accept a lot", meaning: str = "accepted") -> Request:
        """Ask for a signature as the screens do."""
        ask = Ask(
            deed=deed,
            subject=lot,
            about={"supplier": "<b>Delta</b> Mill", "lines": {"heat": "conforming, 41 200 SHU"}},
            rests_on={"evidence": "as it was"},
            meaning=meaning,
            reason="conforms",
        )
        return self.house.signing.ask(ask, by=acting.proof())

    def look(self, *requests: Request, **asked: str) -> Any:
        return self._client.get(_place(*requests, **asked))

    def sign(self, *requests: Request, asked: str = "", **typed: str) -> Any:
        """Send the form; what follows is looked at."""
        place = _place(*requests, **({"request": asked} if asked else {}))
        return self._client.post(place, data=typed)

    def secret(self) -> dict[str, str]:
        """Name and secret as they are typed at the first signature."""
        return {"name": self.name, "secret": secret_of(self.name)}


def entered(path: Path) -> House:
    """A store in which everybody of the staff has an account."""
    store = House.open(path)
    store.lots = Lots()
    people = PeopleDesk(store._connection, cost=FAST)
    for sign_in, (name, roles) in STAFF.items():
        alone = people.alone
        by = people.system_user() if alone else people.signing_as("mara", secret=secret_of("mara"))
        entry = Entry(name=name, sign_in=sign_in, roles=roles)
        people.accept(people.invite(entry, by=by, reason="joins"), secret=secret_of(sign_in))
    return store


def _place(*requests: Request, **asked: str) -> str:
    named = [("request", one.request) for one in requests]
    return f"/sign?{urlencode([*named, *asked.items()])}"
