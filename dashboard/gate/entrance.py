"""How people come in and go out: the sign-in page, the ways it offers, and the sign-out."""

from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import Protocol
from urllib.parse import urlsplit

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dashboard.gate import pages, words
from dashboard.gate.cookie import Cookie
from dashboard.gate.signed_in import Lookup

LOGIN = "/login"
LOGOUT = "/logout"


class Way(Protocol):
    """One way to sign in."""

    def offer(self, back: str) -> str:
        """What the sign-in page shows of it, as HTML; `back` is where the person wanted to go."""

    def open_routes(self) -> Sequence[Route]:
        """Its routes for people who are not signed in yet."""

    def inner_routes(self) -> Sequence[Route]:
        """Its routes for people who are."""


class Offered:
    """A way that the sign-in page shows only while it leads anywhere.

    Parameters
    ----------
    when
        Asked each time the page is shown.
    """

    def __init__(self, way: Way, *, when: Callable[[], bool]) -> None:
        self._way, self._when = way, when

    def offer(self, back: str) -> str:
        """What the way shows, or nothing."""
        return self._way.offer(back) if self._when() else ""

    def open_routes(self) -> Sequence[Route]:
        """The way's own."""
        return self._way.open_routes()

    def inner_routes(self) -> Sequence[Route]:
        """The way's own."""
        return self._way.inner_routes()


@dataclass(frozen=True, slots=True, kw_only=True)
class Entrance:
    """Whose session a cookie stands for, and how one is begun and ended.

    Attributes
    ----------
    end
        Ends the session of a cookie's text; one that has ended already is no error.
    ways
        In the order they are offered.
    farewell
        What the sign-out shows of another session that goes on, as HTML; None to go back to the
        sign-in page at once.
    """

    lookup: Lookup
    end: Callable[[str], None]
    cookie: Cookie
    ways: tuple[Way, ...]
    farewell: Callable[[], Awaitable[str]] | None = None

    def open_routes(self) -> list[Route]:
        """Routes that need no session."""
        own = [
            Route(LOGIN, self._login, methods=["GET"]),
            Route(LOGOUT, self._logout_page, methods=["GET"]),
            Route(LOGOUT, self._logout, methods=["POST"]),
        ]
        return own + [route for way in self.ways for route in way.open_routes()]

    def inner_routes(self) -> list[Route]:
        """Routes that need one."""
        return [route for way in self.ways for route in way.inner_routes()]

    async def _login(self, request: Request) -> Response:
        back = own_place(request.query_params.get("next", ""))
        offers = await run_in_threadpool(lambda: [way.offer(back) for way in self.ways])
        return pages.page(words.SIGN_IN, "".join(offers))

    async def _logout_page(self, _request: Request) -> Response:
        return pages.page(words.SIGN_OUT, pages.button(LOGOUT, words.SIGN_OUT))

    async def _logout(self, request: Request) -> Response:
        key = self.cookie.read(request)
        if key is not None:
            await run_in_threadpool(self.end, key)
        answer: Response = RedirectResponse(LOGIN, HTTPStatus.SEE_OTHER)
        if self.farewell is not None:
            answer = pages.page(words.SIGNED_OUT, await self.farewell())
        self.cookie.drop(answer)
        return answer


def own_place(address: str) -> str:
    """A place of this server that an address names; its first page if it names any other.

    Browsers take a backslash for a slash and leave out control characters, and two slashes in
    front begin another host's name.
    """
    plain = address.isprintable() and "\\" not in address
    if not plain or not address.startswith("/") or address.startswith("//"):
        return "/"
    try:
        parts = urlsplit(address)
    except ValueError:
        return "/"
    return "/" if parts.scheme or parts.netloc else address
