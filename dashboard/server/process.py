"""The server: one process that owns the store's file and shows it to who is signed in."""

import contextlib
import getpass
import os
from collections.abc import AsyncIterator, Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

import streamlit as st
from starlette.middleware import Middleware

from dashboard.frame import session, theme
from dashboard.gate import present, words
from dashboard.gate.accounts import Accounts
from dashboard.gate.answered import Answered
from dashboard.gate.authority import Authority
from dashboard.gate.entrance import LOGIN, Entrance, Offered
from dashboard.gate.headers import Headers
from dashboard.gate.invitations import Invitations
from dashboard.gate.layer import PERSON_HEADER, Gate
from dashboard.gate.listening import LOOPBACK, Listening, permitted
from dashboard.gate.machine import Machine
from dashboard.gate.provider import Provider
from dashboard.gate.senders import Scope, Sender, SenderOf, Senders
from dashboard.gate.sessions import Sessions
from dashboard.gate.setup import ProviderSettings, read_setup
from dashboard.gate.signed_in import SignedIn
from dashboard.server.folder.watched_folder import QUIET_S
from dashboard.server.handover import Running, announced
from dashboard.server.routes import routes
from dashboard.server.watching import watched
from spc.errors import NotKnown, ProviderRefused
from spc.store import Store
from spc.store.desks.people_desk import PeopleDesk

PORT: Final = 8501
_SCRIPT: Final = Path(__file__).parents[1] / "app.py"
_IDLE_S: Final = 1800.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """Where the server listens, how people come in, and what is said of it when it starts.

    Attributes
    ----------
    link
        Makes a fresh link for the computer's user; None where people sign in.
    """

    listening: Listening
    entrance: Entrance
    welcome: str
    link: Callable[[], str] | None = None


def reached(
    *,
    registered: bool,
    port: int = PORT,
    address: str = LOOPBACK,
    sign_in: Path | None = None,
) -> tuple[Listening, ProviderSettings | None]:
    """Where a server would listen, and the provider at which people would sign in; opens nothing.

    Parameters
    ----------
    registered
        Whether somebody has an account in the store's register.
    sign_in
        The file that says how people sign in at a provider.

    Raises
    ------
    ServerRefused
        If it may not listen there, or the file cannot be used.
    """
    if sign_in is None:
        listening = Listening(address=address, port=port)
        return permitted(listening, people_sign_in=registered), None
    setup = read_setup(sign_in)
    listening = Listening(address=address, port=port, reached=setup.reached)
    return permitted(listening, people_sign_in=True), setup.provider


def prepared(store: Store, **asked: Any) -> Served:
    """How a server of a store would be reached and entered; takes what `reached` takes."""
    listening, provider = reached(registered=not store.people.alone, **asked)
    return for_house(listening, store) if provider is None else for_company(listening, provider)


def for_house(listening: Listening, store: Store) -> Served:
    """People come in by the store's register; where nobody has an account, the computer's user.

    The user's own sessions end with the first account that is opened: from then on each person
    signs in.
    """
    people, cookie, user = store.people, listening.cookie, getpass.getuser()
    sessions = Sessions()
    machine = Machine(
        SignedIn(person=f"os:{user}", name=user, way="machine"), sessions=sessions, cookie=cookie
    )

    def alone() -> bool:
        return people.alone

    def lookup(key: str) -> SignedIn | None:
        found = sessions.who(key)
        return found if found is not None and alone() else _registered(people, key)

    def end(key: str) -> None:
        sessions.end(key)
        people.end_session(key)

    def link() -> str:
        return listening.base + (machine.link() if alone() else LOGIN)

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
        welcome=words.announced(link(), user) if alone() else words.reached(listening.base),
        link=link,
    )


def _registered(people: PeopleDesk, key: str) -> SignedIn | None:
    """Whose session of the store's register this is."""
    try:
        actor = people.who(people.session(key))
    except NotKnown:
        return None
    return SignedIn(person=actor.person, name=actor.name, roles=actor.roles, way="account")


def for_company(listening: Listening, settings: ProviderSettings) -> Served:
    """People sign in at the company's provider, whose groups say what they are here."""
    sessions = Sessions(idle_s=_IDLE_S)

    def signed_in(answer: Answered) -> str:
        if not answer.roles:
            raise ProviderRefused(
                f"{answer.name} is in no group that has a role here.",
                remedy="Ask whoever looks after lotheat for a role.",
            )
        return sessions.begin(
            SignedIn(person=answer.person, name=answer.name, roles=answer.roles, way="provider")
        )

    provider = Provider(
        Authority(settings, base=listening.base), cookie=listening.cookie, signed_in=signed_in
    )
    return Served(
        listening=listening,
        entrance=Entrance(
            lookup=sessions.who, end=sessions.end, cookie=listening.cookie, ways=(provider,)
        ),
        welcome=words.reached(listening.base),
    )


def serve(
    store: Store,
    *,
    served: Served,
    watch: Path | None = None,
    quiet_s: float = QUIET_S,
    say: Callable[[str], None],
) -> None:
    """Show a store until the process is stopped; the store is closed with it.

    Parameters
    ----------
    watch
        A folder whose files are taken in as they come.
    quiet_s
        Seconds for which such a file must not have changed.
    say
        Prints how the server is entered.
    """
    session.hold(store)
    senders = Senders()
    running = _running(served.listening, senders)

    @contextlib.contextmanager
    def living() -> Iterator[None]:
        with contextlib.ExitStack() as stack:
            stack.callback(session.release)
            stack.enter_context(announced(store.path, running))
            if watch is not None:
                stack.enter_context(watched(watch, store, quiet_s=quiet_s))
            yield

    say(served.welcome)
    run(application(_SCRIPT, served, senders=senders, living=living), served.listening)


def _running(listening: Listening, senders: Senders) -> Running:
    """The server as it announces itself to the commands of its user."""
    user = getpass.getuser()
    token = senders.add(Sender(name=user, scopes=frozenset(Scope)))
    return Running(
        address=listening.near,
        port=listening.port,
        token=token,
        name=user,
        certificate=str(listening.reached.certificate or ""),
    )


def application(
    script: Path,
    served: Served,
    *,
    senders: SenderOf,
    living: Callable[[], contextlib.AbstractContextManager[None]] = contextlib.nullcontext,
) -> st.App:
    """The pages and own routes, behind the gate.

    Parameters
    ----------
    living
        Entered when the server starts, left when it stops.
    """
    programs = routes(senders, served.link)
    present.hold(served.entrance)

    @contextlib.asynccontextmanager
    async def lifespan(_app: st.App) -> AsyncIterator[dict[str, Any]]:
        with living():
            yield {}

    gate = Middleware(
        Gate,
        doors=served.listening.doors,
        entrance=served.entrance,
        headers=Headers(),
        programs=programs,
    )
    own = [*programs, *served.entrance.open_routes(), *served.entrance.inner_routes()]
    return st.App(script, lifespan=lifespan, routes=own, middleware=[gate])


def run(app: st.App, listening: Listening) -> None:
    """Serve until the process is stopped."""
    # The gate knows the proxy by its own address, not by what a header says.
    os.environ["FORWARDED_ALLOW_IPS"] = ""
    app.run(config=_config(listening))


def _config(listening: Listening) -> dict[str, Any]:
    reached = listening.reached
    tls = {
        "server.sslCertFile": str(reached.certificate),
        "server.sslKeyFile": str(reached.key),
    }
    return {
        "server.address": listening.address,
        "server.port": listening.port,
        "server.headless": True,
        "server.fileWatcherType": "none",
        "server.enableStaticServing": True,
        "server.maxUploadSize": 200,
        "server.trustedUserHeaders": f'{{"{PERSON_HEADER}": "person"}}',
        "browser.gatherUsageStats": False,
        "client.toolbarMode": "minimal",
        "client.showErrorDetails": "none",
        "logger.hideWelcomeMessage": True,
        **(tls if reached.certificate else {}),
        **theme.streamlit_config(),
    }
