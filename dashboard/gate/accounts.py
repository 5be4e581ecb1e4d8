"""Accounts with a name and a secret: the form, and what it is answered with."""

from collections.abc import Callable, Sequence
from http import HTTPStatus
from typing import Final
from urllib.parse import parse_qs

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dashboard.gate import pages, words
from dashboard.gate.cookie import Cookie
from dashboard.gate.entrance import LOGIN, own_place
from spc.errors import LotHeatError

# From a name and a secret to the key of a new session.
Entered = Callable[[str, str], str]

_LARGEST_FORM: Final = 16_384


class Accounts:
    """Sign-in by name and secret.

    Parameters
    ----------
    entered
        Checks both and begins a session; raises a LotHeatError that says the same whatever was
        wrong.
    """

    def __init__(self, entered: Entered, *, cookie: Cookie) -> None:
        self._entered, self._cookie = entered, cookie

    def offer(self, back: str) -> str:
        """The form."""
        return pages.sign_in_form(LOGIN, back)

    def open_routes(self) -> Sequence[Route]:
        """Where the form goes."""
        return (Route(LOGIN, self._enter, methods=["POST"]),)

    def inner_routes(self) -> Sequence[Route]:
        """Nothing more."""
        return ()

    async def _enter(self, request: Request) -> Response:
        typed = await fields(request)
        back = own_place(typed.get("next", ""))
        name, secret = typed.get("name", ""), typed.get("secret", "")
        try:
            # The hash of a secret takes half a second of computing, on purpose.
            key = await run_in_threadpool(self._entered, name, secret)
        except LotHeatError as problem:
            return pages.page(
                words.SIGN_IN,
                pages.refusal(problem) + pages.sign_in_form(LOGIN, back, name=name),
                status=HTTPStatus.UNAUTHORIZED,
            )
        answer = RedirectResponse(back, HTTPStatus.SEE_OTHER)
        self._cookie.put(answer, key)
        return answer


async def fields(request: Request) -> dict[str, str]:
    """What was typed into a form; nothing if it is larger than any form of ours."""
    body = b""
    async for part in request.stream():
        body += part
        if len(body) > _LARGEST_FORM:
            return {}
    typed = parse_qs(body.decode("utf-8", errors="replace"), keep_blank_values=True)
    return {name: values[-1] for name, values in typed.items()}
