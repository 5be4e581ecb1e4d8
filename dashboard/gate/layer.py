"""The gate: one layer before pages, files, uploads, own routes and the websocket."""

from collections.abc import Sequence
from http import HTTPStatus
from typing import Final
from urllib.parse import quote

from starlette.concurrency import run_in_threadpool
from starlette.requests import HTTPConnection
from starlette.responses import PlainTextResponse, RedirectResponse, Response
from starlette.routing import Match, Route
from starlette.types import ASGIApp, Message, Receive, Scope, Send
from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ClientState_pb2 import ClientState

from dashboard.gate.doors import Doors, Knock, Refusal
from dashboard.gate.entrance import Entrance
from dashboard.gate.headers import Headers
from dashboard.gate.signed_in import SignedIn

PERSON_HEADER: Final = "x-lotheat-person"

_OWN_HEADERS: Final = b"x-lotheat-"
# The front end and the typeface: public text, which the sign-in page and an ended session need.
_PUBLIC: Final = ("/static/", "/app/static/")
# What Streamlit brings along and lotheat does not use: counters, a door for agents, a sign-in.
_CLOSED: Final = frozenset({"/_stcore/metrics", "/_stcore/script-health-check", "/oauth2callback"})
_CLOSED_BELOW: Final = ("/_stcore/agent", "/auth/")
# A click after the session's end becomes a plain look at the page, which says how to go on.
_LOOK: Final = BackMsg(rerun_script=ClientState()).SerializeToString()


class Gate:
    """Lets in who is signed in, under a name of this server, from its own pages.

    Every request is asked, in this order: for its host (else 421), for its origin if it changes
    something or opens the websocket (else 403), and for a session (else it is sent to the sign-in
    page, or gets 401).  Whose session it is goes on as a header, which nobody outside can set;
    Streamlit resumes a page's state only for the same header (`server.trustedUserHeaders`), so the
    number of another's page opens a new page, not theirs.

    Parameters
    ----------
    entrance
        Knows whose session it is; asked at every request and every click.
    programs
        Own routes that ask for a token and for no session.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        doors: Doors,
        entrance: Entrance,
        headers: Headers,
        programs: Sequence[Route],
    ) -> None:
        self._app, self._doors, self._headers = app, doors, headers
        self._entrance, self._programs = entrance, tuple(programs)
        self._open_routes = (*entrance.open_routes(), *programs)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Pass a request on, or turn it away."""
        if scope["type"] not in {"http", "websocket"}:
            await self._app(scope, receive, send)
            return
        knock = Knock.of(scope)
        answering = self._with_headers(knock, send)
        refusal = self._doors.refusal(knock, for_programs=_goes_to(scope, self._programs))
        if refusal is not None or _closed(knock.path):
            away = _refused(refusal or (HTTPStatus.NOT_FOUND, "There is nothing here."))
            await away(scope, receive, answering)
            return
        await self._for_people(scope, receive, answering)

    async def _for_people(self, scope: Scope, receive: Receive, send: Send) -> None:
        key = self._entrance.cookie.read(HTTPConnection(scope))
        who = await self._who(key)
        if who is None and not self._open(scope):
            await _to_sign_in(scope)(scope, receive, send)
            return
        heard = self._while_signed_in(key, receive) if scope["type"] == "websocket" else receive
        await self._app(_named(scope, who), heard, send)

    async def _who(self, key: str | None) -> SignedIn | None:
        return None if key is None else await run_in_threadpool(self._entrance.lookup, key)

    def _open(self, scope: Scope) -> bool:
        public = scope["type"] == "http" and scope["path"].startswith(_PUBLIC)
        return public or _goes_to(scope, self._open_routes)

    def _while_signed_in(self, key: str | None, receive: Receive) -> Receive:
        async def heard() -> Message:
            message = await receive()
            if message["type"] == "websocket.receive" and await self._who(key) is None:
                return {"type": "websocket.receive", "bytes": _LOOK}
            return message

        return heard

    def _with_headers(self, knock: Knock, send: Send) -> Send:
        added = self._headers.of(knock.path, self._doors.origin(knock))

        async def sending(message: Message) -> None:
            # The second is the answer to a websocket that is turned away.
            if message["type"] in {"http.response.start", "websocket.http.response.start"}:
                message["headers"] = [*message["headers"], *added]
            await send(message)

        return sending


def _goes_to(scope: Scope, routes: Sequence[Route]) -> bool:
    return any(route.matches(scope)[0] is not Match.NONE for route in routes)


def _closed(path: str) -> bool:
    return path in _CLOSED or path.startswith(_CLOSED_BELOW)


def _refused(refusal: Refusal) -> Response:
    status, why = refusal
    return PlainTextResponse(why, status)


def _to_sign_in(scope: Scope) -> Response:
    connection = HTTPConnection(scope)
    looks = scope["type"] == "http" and scope["method"] in {"GET", "HEAD"}
    page = scope["path"] == "/" or "text/html" in connection.headers.get("accept", "")
    if not (looks and page):
        return PlainTextResponse("Sign in first.", HTTPStatus.UNAUTHORIZED)
    query = scope["query_string"].decode("latin-1")
    back = quote(scope["path"]) + (f"?{query}" if query else "")
    return RedirectResponse(f"/login?next={quote(back, safe='')}", HTTPStatus.SEE_OTHER)


def _named(scope: Scope, who: SignedIn | None) -> Scope:
    """The request with the person's header, and without any that came from outside."""
    headers = [one for one in scope["headers"] if not one[0].lower().startswith(_OWN_HEADERS)]
    if who is not None:
        headers.append((PERSON_HEADER.encode(), quote(who.person, safe=":#/@").encode()))
    return {**scope, "headers": headers}
