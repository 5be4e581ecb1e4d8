"""The server's own routes: health, files from other processes and programs, and a copy of all.

Every route but health and the description asks for a token, which says who sends; a name in the
address or in the body would be anybody's word.
"""

import logging
import os
import secrets
from collections.abc import Callable, Iterator
from dataclasses import asdict
from http import HTTPStatus
from typing import Any, BinaryIO, Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from dashboard.frame import session
from dashboard.gate.senders import Scope, SenderOf, token_shown
from dashboard.server import replies
from dashboard.server.handover import BACKUP, HEALTH, LINK, RECEIVE, STORE
from dashboard.server.openapi import DESCRIPTION
from spc.errors import IntakeError, LotHeatError, NotAllowed, NotKnown
from spc.intake.readers.limits import LARGEST_MB
from spc.store.backup import beside
from spc.store.people import Proof

OPENAPI: Final = "/api/openapi.json"

_LARGEST: Final = LARGEST_MB * 1_000_000
_AT_ONCE: Final = 1 << 20
_STATUS: Final = {
    NotKnown: HTTPStatus.UNAUTHORIZED,
    NotAllowed: HTTPStatus.FORBIDDEN,
    IntakeError: HTTPStatus.UNPROCESSABLE_ENTITY,
}
_LOG: Final = logging.getLogger(__name__)


def routes(sender_of: SenderOf, link: Callable[[], str] | None) -> list[Route]:
    """Every route.

    Parameters
    ----------
    sender_of
        Knows senders by their tokens.
    link
        Makes a link that signs the computer's user in; None where people sign in otherwise.
    """

    def sender(request: Request, scope: str) -> str | None:
        token = token_shown(request.headers)
        return None if token is None else sender_of(token, scope)

    async def receive(request: Request) -> Response:
        token = token_shown(request.headers)
        own = await run_in_threadpool(sender, request, Scope.OWN)
        people = session.store().people
        if own is not None:
            return await _receive(request, people.system_user())
        return _stranger() if token is None else await _receive(request, people.token(token))

    async def backup(request: Request) -> Response:
        by = await run_in_threadpool(sender, request, Scope.BACKUP)
        return _stranger() if by is None else await _backup()

    async def which(request: Request) -> Response:
        by = await run_in_threadpool(sender, request, Scope.OWN)
        return _stranger() if by is None else _which()

    async def fresh_link(request: Request) -> Response:
        by = await run_in_threadpool(sender, request, Scope.OWN)
        return _stranger() if by is None else _linked(link)

    return [
        Route(HEALTH, _health),
        Route(RECEIVE, receive, methods=["POST"]),
        Route(BACKUP, backup),
        Route(STORE, which),
        Route(LINK, fresh_link, methods=["POST"]),
        Route(OPENAPI, _described),
    ]


async def _health(_request: Request) -> JSONResponse:
    """Whether the store answers; nothing of what is in it, for anybody may ask."""
    try:
        await run_in_threadpool(lambda: session.store().stream_keys())
    except LotHeatError as problem:
        _LOG.warning("the store does not answer: %s", problem)
        return JSONResponse({"ok": False}, status_code=503)
    return JSONResponse({"ok": True})


def _which() -> JSONResponse:
    """Which store is shown, so that a command knows its own server from another."""
    return JSONResponse({"store": str(session.store().path.resolve())})


def _linked(link: Callable[[], str] | None) -> JSONResponse:
    """A fresh link for the computer's user."""
    if link is None:
        return _problem(
            HTTPStatus.CONFLICT,
            "people sign in to this server with their own names.",
            "Open its address and sign in.",
        )
    return JSONResponse({"link": link()})


async def _receive(request: Request, by: Proof) -> JSONResponse:
    """Take in the file that is the body of the request."""
    asked = request.query_params
    name = asked.get("name", "").strip()
    if "by" in asked:
        return _problem(
            HTTPStatus.BAD_REQUEST,
            "who sends is told by the token, not by the address.",
            "Leave &by= out of the address.",
        )
    if not name:
        return _problem(
            HTTPStatus.BAD_REQUEST,
            "the file's name is not given.",
            "Add ?name=march.csv to the address.",
        )
    content = await _body(request)
    if content is None:
        return _problem(
            HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
            f"the file is larger than {LARGEST_MB} MB.",
            "Split it and send the parts.",
        )
    return await run_in_threadpool(_answered, name, content, asked.get("profile") or None, by)


def _answered(name: str, content: bytes, profile: str | None, by: Proof) -> JSONResponse:
    """What became of a file, or why it was refused."""
    try:
        return JSONResponse(_taken(name, content, profile, by))
    except LotHeatError as problem:
        status = next(
            (status for kind, status in _STATUS.items() if isinstance(problem, kind)),
            HTTPStatus.SERVICE_UNAVAILABLE,
        )
        return _problem(status, problem.what, problem.remedy, name)


async def _backup() -> Response:
    """A copy of the whole store, as it is now."""
    try:
        copy, size = await run_in_threadpool(_copied)
    except LotHeatError as problem:
        return _problem(HTTPStatus.SERVICE_UNAVAILABLE, problem.what, problem.remedy)
    return StreamingResponse(
        _parts(copy),
        media_type="application/octet-stream",
        headers={"Content-Length": str(size)},
    )


def _copied() -> tuple[BinaryIO, int]:
    """A copy of the store, open and already without a name: it is gone when it is closed."""
    store = session.store()
    path = store.path.with_name(f"{store.path.name}.{secrets.token_hex(8)}.copy")
    store.backup(path)
    copy = path.open("rb")
    path.unlink()
    beside(path).unlink()
    return copy, os.fstat(copy.fileno()).st_size


def _parts(copy: BinaryIO) -> Iterator[bytes]:
    with copy:
        while part := copy.read(_AT_ONCE):
            yield part


def _stranger() -> JSONResponse:
    return _problem(
        HTTPStatus.UNAUTHORIZED,
        "the token is missing or wrong, has expired, or is good for something else.",
        "Send `Authorization: Bearer` with a token that is good for this.",
    )


async def _body(request: Request) -> bytes | None:
    """The body, read no further than a file may be large; None if it is larger."""
    parts, size = [], 0
    async for part in request.stream():
        size += len(part)
        if size > _LARGEST:
            return None
        parts.append(part)
    return b"".join(parts)


def _taken(name: str, content: bytes, profile: str | None, by: Proof) -> dict[str, Any]:
    store = session.store()
    receipt = store.receive_bytes(name, content, profile, by=by)
    held = store.held(receipt.receipt)[list(replies.HELD_TOLD)].to_dict("records")
    told = asdict(receipt)
    told["received_at"] = receipt.received_at.isoformat()
    return {"receipt": told, "held_rows": held}


def _problem(status: HTTPStatus, what: str, remedy: str, where: str = "") -> JSONResponse:
    return JSONResponse({"what": what, "where": where, "remedy": remedy}, status_code=status)


async def _described(_request: Request) -> JSONResponse:
    """The routes in the terms of OpenAPI 3.1."""
    return JSONResponse(DESCRIPTION)
