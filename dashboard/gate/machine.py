"""One's own machine: the computer's user, behind a link that is good for one use."""

import hmac
import secrets
import threading
from collections.abc import Callable, Sequence
from http import HTTPStatus
from typing import Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dashboard.gate import pages, words
from dashboard.gate.cookie import Cookie
from dashboard.gate.sessions import digest
from spc.errors import LotHeatError

ONCE: Final = "/once"


class Machine:
    """The way in where nothing is set up: whoever reads the server's output is its user.

    There is no password to choose.  Other users of the machine can open the port, but not the
    terminal, so they do not come to know the link.

    Parameters
    ----------
    user
        For whom the server runs.
    begin
        Begins a session of who opened the link; gives its key.
    """

    def __init__(self, user: str, *, begin: Callable[[], str], cookie: Cookie) -> None:
        self._user, self._begin, self._cookie = user, begin, cookie
        self._good = ""
        self._lock = threading.Lock()

    def link(self) -> str:
        """The place that signs the user in, once; the link given before it is good no more."""
        secret = secrets.token_urlsafe(32)
        with self._lock:
            self._good = digest(secret)
        return f"{ONCE}/{secret}"

    def offer(self, back: str) -> str:  # noqa: ARG002 - a link cannot know where one wanted to go
        """Says where the link is found: the server cannot tell who asks."""
        return pages.paragraphs(words.machine(self._user))

    def open_routes(self) -> Sequence[Route]:
        """The link's own route."""
        return (Route(f"{ONCE}/{{secret}}", self._enter, methods=["GET"]),)

    def inner_routes(self) -> Sequence[Route]:
        """Nothing more."""
        return ()

    async def _enter(self, request: Request) -> Response:
        # A program that only looks where a link leads must not use it up.
        if request.method != "GET" or not self._spent(request.path_params["secret"]):
            told = pages.paragraphs(words.link_spent())
            return pages.page(words.NO_ENTRY, told, status=HTTPStatus.FORBIDDEN)
        try:
            key = await run_in_threadpool(self._begin)
        except LotHeatError as problem:
            refused = pages.refusal(problem)
            return pages.page(words.NO_ENTRY, refused, status=HTTPStatus.FORBIDDEN)
        answer = RedirectResponse("/", HTTPStatus.SEE_OTHER)
        self._cookie.put(answer, key)
        return answer

    def _spent(self, secret: str) -> bool:
        """Whether the secret was the good one; it is used up by that."""
        with self._lock:
            good = bool(self._good) and hmac.compare_digest(digest(secret), self._good)
            if good:
                self._good = ""
            return good
