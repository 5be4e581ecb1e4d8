"""`/sign`: shows what is to be signed, asks the secret, and signs."""

from collections.abc import Sequence
from datetime import UTC, datetime
from http import HTTPStatus
from urllib.parse import urlencode

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dashboard.frame import errands, session
from dashboard.frame.errands import Errand
from dashboard.frame.signing import PLACE
from dashboard.gate import pages
from dashboard.gate.accounts import fields
from dashboard.gate.cookie import Cookie
from dashboard.signing import blocks, ceremony, words
from dashboard.signing.ceremony import Ceremony
from spc.errors import LotHeatError, NotAllowed, SignatureRefused, SignInRefused

# What a refusal of the store is told with.
_STATUS = {
    SignInRefused: HTTPStatus.UNAUTHORIZED,
    NotAllowed: HTTPStatus.FORBIDDEN,
    SignatureRefused: HTTPStatus.CONFLICT,
}


class SigningPage:
    """The page of signatures.

    Parameters
    ----------
    cookie
        Carries the key of who looks at it.
    """

    def __init__(self, *, cookie: Cookie) -> None:
        self._cookie = cookie

    def routes(self) -> Sequence[Route]:
        """Where it is, for people who are signed in."""
        return (
            Route(PLACE, self._look, methods=["GET"]),
            Route(PLACE, self._sign, methods=["POST"]),
        )

    async def _look(self, request: Request) -> Response:
        key, asked = self._cookie.read(request) or "", request.query_params
        if "errand" in asked:
            return await run_in_threadpool(_errand, asked["errand"], key)
        return await run_in_threadpool(_ceremony, asked.getlist("request"), key)

    async def _sign(self, request: Request) -> Response:
        key, asked = self._cookie.read(request) or "", request.query_params
        typed = await fields(request)
        if "errand" in asked:
            return await run_in_threadpool(_do, asked["errand"], key, typed)
        return await run_in_threadpool(_signed, asked.getlist("request"), key, typed)


def _signed(wanted: Sequence[str], key: str, typed: dict[str, str]) -> Response:
    try:
        ceremony.signed(session.store(), wanted, key, typed)
    except LotHeatError as problem:
        return _ceremony(wanted, key, problem)
    # Looked at again instead of answered, so that a page loaded anew signs nothing twice.
    address = f"{PLACE}?{urlencode([('request', one) for one in wanted])}"
    return RedirectResponse(address, HTTPStatus.SEE_OTHER)


def _ceremony(wanted: Sequence[str], key: str, problem: LotHeatError | None = None) -> Response:
    try:
        found = ceremony.gathered(session.store(), wanted, key)
    except LotHeatError as gone:
        return _gone(gone)
    if not found.requests:
        return _gone(None)
    body = blocks.requests(found.requests) + _refusal(problem, found) + _turn(found)
    return pages.page(words.heading(found.requests), body, status=_status(problem), framed=True)


def _turn(found: Ceremony) -> str:
    """What the person of this screen can do next."""
    first = found.requests[0]
    if found.stage in {"done", "ended"}:
        return pages.paragraphs([words.DONE]) if found.stage == "done" else ""
    if found.stage == "waits":
        return pages.paragraphs([words.waits(first)]) + _beside(opened=True)
    told = [words.asked(first)] if found.stage == "second" else []
    if (problem := ceremony.why_not(found)) is not None:
        beside = _beside(opened=False) if found.stage == "second" else ""
        return pages.paragraphs(told) + pages.refusal(problem) + beside
    if found.alone:
        return pages.paragraphs([words.machine(found.actor)]) + blocks.confirmation()
    told.append(words.signer(found.actor, found.roles(), datetime.now(UTC)))
    if found.actor.provider and not found.actor.sign_in:
        return pages.paragraphs([*told, words.AT_PROVIDER])
    button = words.button(found.requests)
    names = found.actor.names_first
    return pages.paragraphs(told) + blocks.form([], names=names, button=button, beside=False)


def _beside(*, opened: bool) -> str:
    asked = blocks.form([("beside", "yes")], names=True, button="Sign", beside=True)
    told = pages.paragraphs([words.BESIDE_TOLD])
    return blocks.folded(words.BESIDE, told + asked, opened=opened)


def _refusal(problem: LotHeatError | None, found: Ceremony) -> str:
    """Why nothing was signed, and what is new."""
    news = blocks.news(words.changed(one) for one in ceremony.new_since(session.store(), found))
    if problem is not None:
        return pages.refusal(problem, first=words.NOTHING) + news
    return news


def _errand(name: str, key: str, problem: LotHeatError | None = None) -> Response:
    errand = errands.found(name, key=key)
    if errand is None:
        return _gone(None)
    body = blocks.facts(errand.told)
    if problem is not None:
        body += pages.refusal(problem)
    try:
        body += pages.paragraphs([words.DONE]) if errand.done else _asked(key)
    except LotHeatError as gone:
        return _gone(gone)
    return pages.page(errand.title, body, status=_status(problem), framed=True)


def _asked(key: str) -> str:
    found = ceremony.gathered(session.store(), (), key)
    if found.alone:
        return pages.paragraphs([words.machine(found.actor)]) + blocks.confirmation()
    told = pages.paragraphs([words.signer(found.actor, (), datetime.now(UTC))])
    return told + blocks.form([], names=found.actor.names_first, button="Sign", beside=False)


def _do(name: str, key: str, typed: dict[str, str]) -> Response:
    errand = errands.found(name, key=key)
    if errand is None or errand.done:
        return _errand(name, key)
    try:
        _done(errand, key, typed)
    except LotHeatError as problem:
        return _errand(name, key, problem)
    return RedirectResponse(f"{PLACE}?{urlencode({'errand': name})}", HTTPStatus.SEE_OTHER)


def _done(errand: Errand, key: str, typed: dict[str, str]) -> None:
    errand.answer = errand.do(ceremony.given(session.store(), key, typed))
    errand.done = True


def _gone(problem: LotHeatError | None) -> Response:
    told = pages.paragraphs([words.GONE_TOLD]) if problem is None else pages.refusal(problem)
    return pages.page(words.GONE, told, status=HTTPStatus.NOT_FOUND, framed=True)


def _status(problem: LotHeatError | None) -> HTTPStatus:
    if problem is None:
        return HTTPStatus.OK
    return _STATUS.get(type(problem), HTTPStatus.UNPROCESSABLE_ENTITY)
