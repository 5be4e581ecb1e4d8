"""The server: one process that owns the store's file and shows it to who is signed in."""

import contextlib
import getpass
import os
from collections.abc import AsyncIterator, Callable, Iterator
from pathlib import Path
from typing import Any, Final

import streamlit as st
from starlette.middleware import Middleware

from dashboard.frame import session, theme, upkeep
from dashboard.gate import at_provider, present
from dashboard.gate.headers import Headers
from dashboard.gate.layer import PERSON_HEADER, Gate
from dashboard.gate.listening import LOOPBACK, Listening, permitted
from dashboard.gate.senders import Sender, SenderOf, Senders, fresh_token
from dashboard.gate.setup import ProviderSettings, read_setup
from dashboard.server.company import for_company
from dashboard.server.house import for_house
from dashboard.server.reaching import Running, announced
from dashboard.server.routes import Programs
from dashboard.server.schedule import Schedule
from dashboard.server.served import Served
from dashboard.server.watching import Watching, bringing, watched
from dashboard.signing.page import SigningPage
from spc.store import Store

PORT: Final = 8501
_SCRIPT: Final = Path(__file__).parents[1] / "app.py"


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


def prepared(
    store: Store, *, visitor: Callable[[Store], str] | None = None, **asked: Any
) -> Served:
    """How a server of a store would be reached and entered; takes what `reached` takes."""
    listening, provider = reached(registered=not store.people.alone, **asked)
    if provider is None:
        return for_house(listening, store, visitor=visitor)
    return for_company(listening, provider, store)


def serve(
    store: Store,
    *,
    served: Served,
    schedule: Schedule,
    watch: Watching | None = None,
    say: Callable[[str], None],
) -> None:
    """Show a store until the process is stopped; the store is closed with it.

    Parameters
    ----------
    schedule
        What the server does by itself.
    watch
        A folder whose files are taken in as they come.
    say
        Prints how the server is entered.
    """
    session.hold(store)
    own = fresh_token()
    senders, running = known_senders(store, own), _running(served.listening, own)

    @contextlib.contextmanager
    def living() -> Iterator[None]:
        with contextlib.ExitStack() as stack:
            stack.callback(session.release)
            stack.enter_context(announced(store.path, running))
            if watch is not None:
                by = bringing(store, watch.token)
                stack.enter_context(watched(watch.folder, store, by=by, quiet_s=watch.quiet_s))
            upkeep.hold(schedule)
            stack.callback(upkeep.release)
            stack.enter_context(schedule.running())
            yield

    say(served.welcome)
    app = application(_SCRIPT, served, senders=senders, schedule=schedule, living=living)
    run(app, served.listening)


def known_senders(store: Store, own: str) -> Senders:
    """Who shows the server's own token, or one of the store's register."""
    people = store.people

    def registered(token: str, deed: str) -> Sender:
        by = people.token(token)
        return Sender(name=people.may(deed, by=by).name, by=by)

    return Senders(own, user=getpass.getuser(), registered=registered)


def _running(listening: Listening, own: str) -> Running:
    """The server as it announces itself to the commands of its user."""
    return Running(
        address=listening.near,
        port=listening.port,
        token=own,
        name=getpass.getuser(),
        certificate=str(listening.reached.certificate or ""),
    )


def application(
    script: Path,
    served: Served,
    *,
    senders: SenderOf,
    schedule: Schedule,
    living: Callable[[], contextlib.AbstractContextManager[None]] = contextlib.nullcontext,
) -> st.App:
    """The pages and own routes, behind the gate.

    Parameters
    ----------
    living
        Entered when the server starts, left when it stops.
    """
    own = Programs(senders=senders, schedule=schedule, link=served.link)
    programs = own.routes()
    present.hold(served.entrance)
    at_provider.hold(served.provider)

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
    entrance, signing = served.entrance, SigningPage(cookie=served.entrance.cookie)
    inner = [*entrance.inner_routes(), *signing.routes(), *served.more]
    routes = [*programs, *entrance.open_routes(), *inner]
    return st.App(script, lifespan=lifespan, routes=routes, middleware=[gate])


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
