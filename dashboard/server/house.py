"""People come in by the store's register, by name and secret."""

import getpass
from collections.abc import Callable

from dashboard.gate import words
from dashboard.gate.accounts import Accounts
from dashboard.gate.entrance import LOGIN, Entrance, Offered
from dashboard.gate.invitations import Invitations
from dashboard.gate.listening import Listening
from dashboard.gate.machine import Machine
from dashboard.gate.sessions import Sessions
from dashboard.gate.signed_in import SignedIn
from dashboard.server.served import Served, registered
from spc.store import Store


def for_house(
    listening: Listening, store: Store, *, visitor: Callable[[Store], str] | None = None
) -> Served:
    """People come in by the store's register; where nobody has an account, the computer's user.

    The user's own sessions end with the first account that is opened: from then on each person
    signs in.

    Parameters
    ----------
    visitor
        Begins a session of the register for who opens the link of a demo.
    """
    people, cookie, user = store.people, listening.cookie, getpass.getuser()
    sessions = Sessions()

    def alone() -> bool:
        return people.alone

    def begin() -> str:
        if visitor is not None and not alone():
            return visitor(store)
        return sessions.begin(SignedIn(person=f"os:{user}", name=user, way="machine"))

    machine = Machine(user, begin=begin, cookie=cookie)

    def lookup(key: str) -> SignedIn | None:
        found = sessions.who(key)
        return found if found is not None and alone() else registered(people, key, way="account")

    def end(key: str) -> None:
        sessions.end(key)
        people.end_session(key)

    def link() -> str:
        opens = visitor is not None or alone()
        return listening.base + (machine.link() if opens else LOGIN)

    accounts = Accounts(lambda name, secret: people.sign_in(name, secret=secret), cookie=cookie)
    invitations = Invitations(
        invited=lambda code: people.invited(code).name,
        accepted=lambda code, secret: people.accept(code, secret=secret),
        cookie=cookie,
    )
    ways = (
        Offered(machine, when=alone),
        Offered(accounts, when=lambda: not alone()),
        invitations,
    )
    return Served(
        listening=listening,
        entrance=Entrance(lookup=lookup, end=end, cookie=cookie, ways=ways),
        welcome=words.started(
            listening.base, link(), user=user if alone() else "", visited=visitor is not None
        ),
        link=link,
    )
