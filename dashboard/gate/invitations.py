"""Invitations: who was invited chooses a secret, and is in."""

from collections.abc import Callable, Sequence
from http import HTTPStatus

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dashboard.gate import pages, words
from dashboard.gate.accounts import fields
from dashboard.gate.cookie import Cookie
from spc.errors import LotHeatError

JOIN = "/join"


class Invitations:
    """Accounts opened by the code of an invitation.

    Parameters
    ----------
    invited
        From a code to the name of whom it is for.
    accepted
        From a code and a secret to the key of a new session.  Both raise a LotHeatError where the
        invitation is not open, the second also where the secret is too easy to guess.
    """

    def __init__(
        self,
        *,
        invited: Callable[[str], str],
        accepted: Callable[[str, str], str],
        cookie: Cookie,
    ) -> None:
        self._invited, self._accepted, self._cookie = invited, accepted, cookie

    def offer(self, back: str) -> str:  # noqa: ARG002 - an invitation has an address of its own
        """Nothing: who was invited has the address."""
        return ""

    def open_routes(self) -> Sequence[Route]:
        """The page of an invitation, and where its form goes."""
        place = f"{JOIN}/{{code}}"
        return (
            Route(place, self._show, methods=["GET"]),
            Route(place, self._join, methods=["POST"]),
        )

    def inner_routes(self) -> Sequence[Route]:
        """Nothing more."""
        return ()

    async def _show(self, request: Request) -> Response:
        code = request.path_params["code"]
        try:
            name = await run_in_threadpool(self._invited, code)
        except LotHeatError as problem:
            return _not_open(problem)
        return pages.page(words.welcome(name), _form(code))

    async def _join(self, request: Request) -> Response:
        code, typed = request.path_params["code"], await fields(request)
        try:
            name = await run_in_threadpool(self._invited, code)
        except LotHeatError as problem:
            return _not_open(problem)
        secret = typed.get("secret", "")
        if secret != typed.get("again", ""):
            return _once_more(name, code, pages.paragraphs([words.NOT_ALIKE]))
        try:
            key = await run_in_threadpool(self._accepted, code, secret)
        except LotHeatError as problem:
            return _once_more(name, code, pages.refusal(problem))
        answer = RedirectResponse("/", HTTPStatus.SEE_OTHER)
        self._cookie.put(answer, key)
        return answer


def _not_open(problem: LotHeatError) -> Response:
    return pages.page(words.NO_ENTRY, pages.refusal(problem), status=HTTPStatus.FORBIDDEN)


def _once_more(name: str, code: str, why: str) -> Response:
    body = why + _form(code)
    return pages.page(words.welcome(name), body, status=HTTPStatus.UNPROCESSABLE_ENTITY)


def _form(code: str) -> str:
    return pages.paragraphs([words.CHOOSE]) + pages.secret_form(f"{JOIN}/{code}")
