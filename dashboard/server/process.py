"""The server: one process that owns the store's file and shows it on this machine only."""

import contextlib
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any, Final

import streamlit as st
from starlette.middleware import Middleware
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from dashboard.frame import session, theme
from dashboard.server.handover import Running, announced, fresh_token
from dashboard.server.routes import routes
from dashboard.server.watching import watched
from spc.store import Store

ADDRESS: Final = "127.0.0.1"
PORT: Final = 8501
_SCRIPT: Final = Path(__file__).parents[1] / "app.py"

_HEADERS: Final = (
    (b"x-frame-options", b"DENY"),
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"same-origin"),
    (
        b"content-security-policy",
        b"default-src 'self' 'unsafe-inline' 'unsafe-eval' blob: data:; frame-ancestors 'none'",
    ),
)


class SecurityHeaders:
    """Add the headers that keep the pages out of other sites' frames."""

    def __init__(self, app: ASGIApp) -> None:
        self._app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, and its answer back with the headers."""

        async def sending(message: Message) -> None:
            if message["type"] == "http.response.start":
                message["headers"] = [*message["headers"], *_HEADERS]
            await send(message)

        await self._app(scope, receive, sending)


def serve(store: Store, *, port: int = PORT, watch: Path | None = None) -> None:
    """Show a store until the process is stopped; the store is closed with it.

    Parameters
    ----------
    watch
        A folder whose files are taken in as they come.
    """
    session.hold(store)
    running = Running(address=ADDRESS, port=port, token=fresh_token())

    @contextlib.asynccontextmanager
    async def lifespan(_app: st.App) -> AsyncIterator[dict[str, Any]]:
        with contextlib.ExitStack() as stack:
            stack.callback(session.release)
            stack.enter_context(announced(store.path, running))
            if watch is not None:
                stack.enter_context(watched(watch, store))
            yield {}

    app = st.App(
        _SCRIPT,
        lifespan=lifespan,
        routes=routes(running.token),
        middleware=[Middleware(SecurityHeaders)],
    )
    app.run(config=_config(port))


def _config(port: int) -> dict[str, Any]:
    return {
        "server.address": ADDRESS,
        "server.port": port,
        "server.headless": True,
        "server.fileWatcherType": "none",
        "server.enableStaticServing": True,
        "server.maxUploadSize": 200,
        "browser.gatherUsageStats": False,
        "client.toolbarMode": "minimal",
        "client.showErrorDetails": "none",
        "logger.hideWelcomeMessage": True,
        **theme.streamlit_config(),
    }
