"""How a server is reached and entered, and what is said of it when it starts."""

from collections.abc import Callable
from dataclasses import dataclass

from starlette.routing import Route

from dashboard.gate.entrance import Entrance
from dashboard.gate.listening import Listening
from dashboard.gate.signed_in import SignedIn, Way
from spc.errors import NotKnown
from spc.store.desks.people_desk import PeopleDesk


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """Where the server listens, how people come in, and what is said of it when it starts.

    Attributes
    ----------
    link
        Makes a fresh link for the computer's user; None where people sign in.
    provider
        Where people sign; empty where they have a secret here.
    more
        Own routes for who is signed in, beside the entrance's.
    """

    listening: Listening
    entrance: Entrance
    welcome: str
    link: Callable[[], str] | None = None
    provider: str = ""
    more: tuple[Route, ...] = ()


def registered(people: PeopleDesk, key: str, *, way: Way) -> SignedIn | None:
    """Whose session of the store's register this is."""
    try:
        actor = people.who(people.session(key))
    except NotKnown:
        return None
    return SignedIn(person=actor.person, name=actor.name, roles=actor.roles, way=way)
