"""`/sign`: shows what is to be signed, asks the secret, and signs."""

from collections.abc import Sequence
from datetime import UTC, datetime
from http import HTTPStatus

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response
from starlette.routing import Route

from dashboard.frame import errands, session
from dashboard.frame.signing import PLACE
from dashboard.gate import at_provider, pages
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
        key, wanted = self._cookie.read(request) or "", request.query_params.getlist("request")
        if errands.is_one(wanted):
            return await run_in_threadpool(_errand, wanted[0], key)
        return await run_in_threadpool(_ceremony, wanted, key)

    async def _sign(self, request: Request) -> Response:
        key, wanted = self._cookie.read(request) or "", request.query_params.getlist("request")
        typed = await fields(request)
        if errands.is_one(wanted):
            return await run_in_threadpool(_do, wanted[0], key, typed)
        return await run_in_threadpool(_signed, wanted, key, typed)


def _signed(wanted: Sequence[str], key: str, typed: dict[str, str]) -> Response:
    try:
        ceremony.signed(session.store(), wanted, key, typed)
    except LotHeatError as problem:
        return _ceremony(wanted, key, problem)
    # Looked at again instead of answered, so that a page loaded anew signs nothing twice.
    return RedirectResponse(at_provider.place(wanted), HTTPStatus.SEE_OTHER)


def _ceremony(wanted: Sequence[str], key: str, problem: LotHeatError | None = None) -> Response:
    try:
        found = ceremony.gathered(session.store(), wanted, key)
    except LotHeatError as gone:
        return _gone(gone)
    if not found.requests:
        return _gone(None)
    shown, turn = blocks.requests(found.requests), _refusal(problem, found) + _turn(found)
    # Who has signed has read it, and looks for what comes next.
    body = turn + shown if found.stage == "waits" else shown + turn
    return pages.page(words.heading(found.requests), body, status=_status(problem), framed=True)


def _turn(found: Ceremony) -> str:
    """What the person of this screen can do next."""
    first = found.requests[0]
    if found.stage in {"done", "ended"}:
        return pages.paragraphs([words.DONE]) if found.stage == "done" else ""
    if found.stage == "waits":
        return pages.paragraphs([words.waits(first)]) + _beside(found, opened=True)
    told = [words.asked(first)] if found.stage == "second" else []
    if (problem := ceremony.why_not(found)) is not None:
        beside = _beside(found, opened=False) if found.stage == "second" else ""
        return pages.paragraphs(told) + pages.refusal(problem) + beside
    if found.alone:
        return pages.paragraphs([words.machine(found.actor)]) + blocks.confirmation()
    told.append(words.signer(found.actor, found.roles(), datetime.now(UTC)))
    button = words.button(found.requests)
    return pages.paragraphs(told) + _asked(found, _names(found), button)


def _asked(found: Ceremony, wanted: Sequence[str], button: str) -> str:
    """Where the person of this screen gives their secret, or is sent to show who they are."""
    if at_provider.name():
        return blocks.elsewhere(
            at_provider.address(wanted), words.with_provider(at_provider.name())
        )
    return blocks.form(names=found.actor.names_first, button=button, beside=False)


def _beside(found: Ceremony, *, opened: bool) -> str:
    """Where a second person signs at the same screen."""
    if at_provider.name():
        address = at_provider.address(_names(found), second=True)
        asked = blocks.elsewhere(address, words.with_provider(at_provider.name()))
    else:
        asked = blocks.form(names=True, button="Sign", beside=True)
    told = pages.paragraphs([words.BESIDE_TOLD])
    return blocks.folded(words.BESIDE, told + asked, opened=opened)


def _names(found: Ceremony) -> list[str]:
    return [one.request for one in found.requests]


def _refusal(problem: LotHeatError | None, found: Ceremony) -> str:
    """Why nothing was signed, or is no longer to be."""
    if problem is not None:
        return pages.refusal(problem, first=words.NOTHING)
    return blocks.news(words.ended(one) for one in found.requests if one.ended)


def _errand(name: str, key: str, problem: LotHeatError | None = None) -> Response:
    errand = errands.found(name, key=key)
    if errand is None:
        return _gone(None)
    body = blocks.facts(errand.told)
    if problem is not None:
        body += pages.refusal(problem)
    try:
        body += pages.paragraphs([words.DONE]) if errand.done else _to_do(name, key)
    except LotHeatError as gone:
        return _gone(gone)
    return pages.page(errand.title, body, status=_status(problem), framed=True)


def _to_do(name: str, key: str) -> str:
    found = ceremony.gathered(session.store(), (), key)
    if found.alone:
        return pages.paragraphs([words.machine(found.actor)]) + blocks.confirmation()
    told = pages.paragraphs([words.signer(found.actor, (), datetime.now(UTC))])
    return told + _asked(found, [name], words.button([]))


def _do(name: str, key: str, typed: dict[str, str]) -> Response:
    errand = errands.found(name, key=key)
    if errand is None:
        return _gone(None)
    try:
        errand.carry_out(ceremony.given(session.store(), key, typed))
    except LotHeatError as problem:
        return _errand(name, key, problem)
    return RedirectResponse(at_provider.place([name]), HTTPStatus.SEE_OTHER)


def _gone(problem: LotHeatError | None) -> Response:
    told = pages.paragraphs([words.GONE_TOLD]) if problem is None else pages.refusal(problem)
    return pages.page(words.GONE, told, status=HTTPStatus.NOT_FOUND, framed=True)


def _status(problem: LotHeatError | None) -> HTTPStatus:
    if problem is None:
        return HTTPStatus.OK
    return _STATUS.get(type(problem), HTTPStatus.UNPROCESSABLE_ENTITY)
