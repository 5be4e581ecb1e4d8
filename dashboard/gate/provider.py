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

from dashboard.gate import at_provider, pages, words
from dashboard.gate.answered import Answered
from dashboard.gate.authority import DONE, Authority
from dashboard.gate.cookie import Cookie
from dashboard.gate.entrance import LOGIN, own_place
from dashboard.gate.invitations import JOIN
from spc.errors import LotHeatError, ProviderRefused, ProviderSilent

BEGIN: Final = "/login/provider"

# How a browser says that a page of ours leads here.
_OWN_PAGE: Final = "same-origin"

# Between the provider's clock and ours.
_CLOCKS_APART_S: Final = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Entering:
    """What becomes of who signs in; each is a LotHeatError where nobody is let in.

    Attributes
    ----------
    signed_in
        From an answer to the key of a new session.
    invited
        From the code of an invitation to the name of whom it is for.
    joined
        Binds who answered to an invitation; the key of a new session.
    """

    signed_in: Callable[[Answered], str]
    invited: Callable[[str], str]
    joined: Callable[[str, Answered], str]


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """What a person was sent to the provider to sign.

    Attributes
    ----------
    requests
        Ids of what is signed together.
    digest
        Of all of it; the provider signs it along.
    at
        When they were sent, in seconds since 1970 (UTC).
    second
        Whether somebody else than the session's person is to sign, at the same screen.
    """

    requests: tuple[str, ...]
    digest: str
    at: float
    second: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Signing:
    """What is signed, and what becomes of a signature.

    Attributes
    ----------
    digest
        From requests and the session's key to the digest of what is signed.
    signed
        Takes the answer, what was asked and the session's key, and keeps the signature.
    """

    digest: Callable[[tuple[str, ...], str], str]
    signed: Callable[[Answered, Asked, str], None]


class Provider:
    """The way in for everybody whom the company's provider knows.

    A signature asks the provider to have the person show anew who they are, and gives it the
    digest of the record to sign along: the kept token is then the provider's own signature over
    person, time and record.  The second person may sign in the same browser: the first one's
    session stays.
    """

    def __init__(
        self,
        authority: Authority,
        *,
        cookie: Cookie,
        entering: Entering,
        signing: Signing,
        clock: Callable[[], float] = time.time,
    ) -> None:
        self._authority, self._cookie, self._entering = authority, cookie, entering
        self._signing, self._clock = signing, clock

    def offer(self, back: str) -> str:
        """A button that leads there."""
        address = f"{BEGIN}?{urlencode({'next': back})}"
        return pages.link(address, words.provider(self._authority.settings.name))

    async def farewell(self) -> str:
        """What a sign-out shows: the way out of the company's own session, if it has one."""
        name = self._authority.settings.name
        address = await self._authority.way_out(LOGIN)
        out = pages.link(address, words.out_there(name)) if address else ""
        return pages.paragraphs([words.signed_out(name)]) + out

    def open_routes(self) -> Sequence[Route]:
        """There, and back; and what an invitation opens."""
        return (
            Route(BEGIN, self._begin, methods=["GET"]),
            Route(DONE, self._done, methods=["GET"]),
            Route(f"{JOIN}/{{code}}", self._invitation, methods=["GET"]),
            Route(f"{JOIN}/{{code}}/provider", self._join, methods=["GET"]),
        )

    def inner_routes(self) -> Sequence[Route]:
        """There for a signature."""
        return (Route(at_provider.SIGN, self._sign, methods=["GET"]),)

    async def _begin(self, request: Request) -> Response:
        back = own_place(request.query_params.get("next", ""))
        return await self._sent(request, {"back": back})

    async def _invitation(self, request: Request) -> Response:
        code = request.path_params["code"]
        try:
            name = await run_in_threadpool(self._entering.invited, code)
        except LotHeatError as problem:
            return _told(words.NO_ENTRY, problem)
        named = self._authority.settings.name
        way = pages.link(f"{JOIN}/{code}/provider", words.provider(named))
        return pages.page(words.welcome(name), pages.paragraphs([words.joining(named)]) + way)

    async def _join(self, request: Request) -> Response:
        # Somebody else may be signed in there: this is the moment to say so.
        flow = {"back": "/", "code": request.path_params["code"]}
        return await self._sent(request, flow, prompt="login")

    async def _sent(self, request: Request, flow: dict[str, Any], **asked: Any) -> Response:
        try:
            return await self._authority.send(request, flow, **asked)
        except ProviderSilent as problem:
            return _told(words.NOT_FINISHED, problem)

    async def _sign(self, request: Request) -> Response:
        query = request.query_params
        asked = tuple(query.getlist("request"))
        if request.headers.get("sec-fetch-site", _OWN_PAGE) != _OWN_PAGE:
            # A link from elsewhere would have somebody sign what they have not read.
            return RedirectResponse(at_provider.place(asked), HTTPStatus.SEE_OTHER)
        back = own_place(query.get("next", at_provider.place(asked)))
        key = self._cookie.read(request) or ""
        try:
            digest = await run_in_threadpool(self._signing.digest, asked, key)
            flow = {
                "back": back,
                "requests": asked,
                "digest": digest,
                "at": self._clock(),
                "second": bool(query.get("second")),
            }
            return await self._authority.send(
                request, flow, prompt="login", max_age=0, nonce=digest
            )
        except LotHeatError as problem:
            return _told(words.NOT_SIGNED, problem)

    async def _done(self, request: Request) -> Response:
        for_signature = False
        try:
            answer, flow = await self._authority.received(request)
            for_signature = "requests" in flow
            if for_signature:
                return await self._keep(request, answer, flow)
            return await self._enter(answer, flow)
        except LotHeatError as problem:
            return _told(words.NOT_SIGNED if for_signature else words.NOT_FINISHED, problem)

    async def _enter(self, answer: Answered, flow: dict[str, Any]) -> Response:
        if "code" in flow:
            key = await run_in_threadpool(self._entering.joined, flow["code"], answer)
        else:
            key = await run_in_threadpool(self._entering.signed_in, answer)
        page = RedirectResponse(flow["back"], HTTPStatus.SEE_OTHER)
        self._cookie.put(page, key)
        return page

    async def _keep(self, request: Request, answer: Answered, flow: dict[str, Any]) -> Response:
        asked = Asked(
            requests=tuple(flow["requests"]),
            digest=flow["digest"],
            at=flow["at"],
            second=flow["second"],
        )
        if answer.auth_time < asked.at - _CLOCKS_APART_S:
            raise ProviderRefused(
                "the provider did not ask anew who you are.",
                remedy="Sign again; if it happens again, its clock may be behind, or it does not"
                " heed max_age: show this to whoever looks after it.",
            )
        if answer.nonce != asked.digest:
            raise ProviderRefused("the answer is about something else.", remedy="Sign again.")
        key = self._cookie.read(request) or ""
        await run_in_threadpool(self._signing.signed, answer, asked, key)
        return RedirectResponse(flow["back"], HTTPStatus.SEE_OTHER)


def _told(title: str, problem: LotHeatError) -> Response:
    """Broken off at the provider is 400, no answer of it 502, and refused here 403."""
    status = HTTPStatus.FORBIDDEN
    if isinstance(problem, ProviderRefused):
        status = HTTPStatus.BAD_REQUEST
    if isinstance(problem, ProviderSilent):
        status = HTTPStatus.BAD_GATEWAY
    return pages.page(title, pages.refusal(problem), status=status)
