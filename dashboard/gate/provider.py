"""Sign-in and signatures at the company's OpenID Connect provider."""

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any, Final
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dashboard.gate import pages, words
from dashboard.gate.answered import Answered
from dashboard.gate.authority import DONE, Authority
from dashboard.gate.cookie import Cookie
from dashboard.gate.entrance import own_place
from spc.errors import LotHeatError, ProviderRefused, ProviderSilent

BEGIN: Final = "/login/provider"
SIGN: Final = "/sign/provider"

# Between the provider's clock and ours.
_CLOCKS_APART_S: Final = 5

# From an answer to the key of a new session.
SignedInBy = Callable[[Answered], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Signing:
    """What is signed, and what becomes of a signature.

    Attributes
    ----------
    digest
        From a request's name and the session's key to the digest of what is signed.
    signed
        Takes the answer, the request's name and the session's key, and keeps the signature.
    """

    digest: Callable[[str, str], str]
    signed: Callable[[Answered, str, str], None]


class Provider:
    """The way in for everybody whom the company's provider knows.

    A signature asks the provider to have the person show anew who they are, and gives it the
    digest of the record to sign along: the kept token is then the provider's own signature over
    person, time and record.  Who signs may be another than who is signed in: that session stays.
    """

    def __init__(
        self,
        authority: Authority,
        *,
        cookie: Cookie,
        signed_in: SignedInBy,
        signing: Signing | None = None,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self._authority, self._cookie, self._signed_in = authority, cookie, signed_in
        self._signing, self._clock = signing, clock

    def offer(self, back: str) -> str:
        """A button that leads there."""
        address = f"{BEGIN}?{urlencode({'next': back})}"
        return pages.link(address, words.provider(self._authority.settings.name))

    def open_routes(self) -> Sequence[Route]:
        """There, and back."""
        return (
            Route(BEGIN, self._begin, methods=["GET"]),
            Route(DONE, self._done, methods=["GET"]),
        )

    def inner_routes(self) -> Sequence[Route]:
        """There for a signature."""
        return () if self._signing is None else (Route(SIGN, self._sign, methods=["GET"]),)

    async def _begin(self, request: Request) -> Response:
        back = own_place(request.query_params.get("next", ""))
        try:
            return await self._authority.send(request, {"back": back})
        except ProviderSilent as problem:
            return _told(words.NOT_FINISHED, problem)

    async def _sign(self, request: Request) -> Response:
        asked, key = request.query_params.get("request", ""), self._cookie.read(request) or ""
        back = own_place(request.query_params.get("next", ""))
        signing = _there(self._signing)
        try:
            digest = await run_in_threadpool(signing.digest, asked, key)
            flow = {"back": back, "request": asked, "digest": digest, "asked": self._clock()}
            return await self._authority.send(
                request, flow, prompt="login", max_age=0, nonce=digest
            )
        except LotHeatError as problem:
            return _told(words.NOT_SIGNED, problem)

    async def _done(self, request: Request) -> Response:
        for_signature = False
        try:
            answer, flow = await self._authority.received(request)
            for_signature = "request" in flow
            if for_signature:
                return await self._keep(request, answer, flow)
            return await self._enter(answer, flow)
        except LotHeatError as problem:
            return _told(words.NOT_SIGNED if for_signature else words.NOT_FINISHED, problem)

    async def _enter(self, answer: Answered, flow: dict[str, Any]) -> Response:
        key = await run_in_threadpool(self._signed_in, answer)
        page = RedirectResponse(flow["back"], HTTPStatus.SEE_OTHER)
        self._cookie.put(page, key)
        return page

    async def _keep(self, request: Request, answer: Answered, flow: dict[str, Any]) -> Response:
        if answer.auth_time < flow["asked"] - _CLOCKS_APART_S:
            raise ProviderRefused(
                "the provider did not ask anew who you are.",
                remedy="Sign again; if it happens again, its clock may be behind, or it does not"
                " heed max_age: show this to whoever looks after it.",
            )
        if answer.nonce != flow["digest"]:
            raise ProviderRefused("the answer is about something else.", remedy="Sign again.")
        key = self._cookie.read(request) or ""
        await run_in_threadpool(_there(self._signing).signed, answer, flow["request"], key)
        return RedirectResponse(flow["back"], HTTPStatus.SEE_OTHER)


def _there(signing: Signing | None) -> Signing:
    if signing is None:
        raise ProviderRefused(
            "signatures are not given at the provider here.", remedy="Sign on the lot's page."
        )
    return signing


def _told(title: str, problem: LotHeatError) -> Response:
    """Broken off at the provider is 400, no answer of it 502, and refused here 403."""
    status = HTTPStatus.FORBIDDEN
    if isinstance(problem, ProviderRefused):
        status = HTTPStatus.BAD_REQUEST
    if isinstance(problem, ProviderSilent):
        status = HTTPStatus.BAD_GATEWAY
    return pages.page(title, pages.refusal(problem), status=status)
