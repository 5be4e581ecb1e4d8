"""The demo's people: registered when it is made, so that two persons can try what needs two."""

import time
import tomllib
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import pandas as pd

from spc.store import Store
from spc.store.people import Entry, Proof

FILE: Final = "people.toml"
WHY: Final = "works for the invented sauce maker"

# A proof of a secret holds a minute; hashing a secret anew for every lot would take too long.
_FRESH_S: Final = 30.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Invented:
    """One of the demo's people; the secret is told to everybody."""

    name: str
    sign_in: str
    roles: tuple[str, ...]
    secret: str


class Staff:
    """The demo's people as they act.

    Parameters
    ----------
    people
        The first one administers.
    """

    def __init__(self, store: Store, people: Iterable[Invented]) -> None:
        self._store = store
        self._people = tuple(people)
        self._given: dict[str, tuple[float, Proof]] = {}

    def enter(self) -> None:
        """Register everybody, each with the secret of the demo; whoever is there stays."""
        known = {one.sign_in for one in self._store.people.every()}
        if not self._store.people.alone and self._people[0].sign_in not in known:
            return  # a store with people of its own
        for one in self._people:
            if one.sign_in not in known:
                entry = Entry(name=one.name, sign_in=one.sign_in, roles=one.roles)
                code = self._store.people.invite(entry, by=self._administrator(), reason=WHY)
                self._store.people.accept(code, secret=one.secret)

    def session(self, named: str) -> Proof:
        """One of them, by name, signed in for longer than a secret holds."""
        one = next(one for one in self._people if one.name == named)
        return self._store.people.session(
            self._store.people.sign_in(one.sign_in, secret=one.secret)
        )

    def proof(self, named: str) -> Proof:
        """That one of them, by name, has given their secret less than a minute ago."""
        since, given = self._given.get(named, (0.0, None))
        if given is None or time.monotonic() - since > _FRESH_S:
            one = next(one for one in self._people if one.name == named)
            given = self._store.people.signing_as(one.sign_in, secret=one.secret)
            self._given[named] = (time.monotonic(), given)
        return given

    def _administrator(self) -> Proof:
        people = self._store.people
        return people.system_user() if people.alone else self.proof(self._people[0].name)


def visitor(people: Iterable[Invented]) -> Callable[[Store], str]:
    """Signs a visitor of the demo in as the first of its people; gives the key of a session."""
    first = next(iter(people))
    return lambda store: store.people.sign_in(first.sign_in, secret=first.secret)


def table(people: Iterable[Invented]) -> pd.DataFrame:
    """Who can sign in to the demo, and with what."""
    return pd.DataFrame(
        [(one.name, one.sign_in, one.secret, ", ".join(one.roles)) for one in people],
        columns=["name", "signs in as", "secret", "roles"],
    )


def invented(folder: Path) -> tuple[Invented, ...]:
    """The people of the demo's folder; the first one signs visitors in."""
    told = tomllib.loads((folder / FILE).read_text(encoding="utf-8"))["person"]
    return tuple(Invented(**{**one, "roles": tuple(one["roles"])}) for one in told)
