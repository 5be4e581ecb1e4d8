"""The server's own routes: health, files from other processes and programs, and a copy of all."""

import hmac
import os
import secrets
from collections.abc import Iterator
from dataclasses import asdict
from http import HTTPStatus
from typing import Any, BinaryIO, Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response, StreamingResponse
from starlette.routing import Route

from dashboard.frame import session
from dashboard.server import replies
from dashboard.server.handover import BACKUP, HEALTH, RECEIVE
from spc.errors import IntakeError, LotHeatError
from spc.intake.readers.limits import LARGEST_MB

OPENAPI: Final = "/api/openapi.json"

_LARGEST: Final = LARGEST_MB * 1_000_000
_AT_ONCE: Final = 1 << 20
_PROBLEM: Final = {"$ref": "#/components/schemas/Problem"}
_TEXT: Final = {"type": "string"}
_COUNT: Final = {"type": "integer", "minimum": 0}


def routes(token: str) -> list[Route]:
    """Every route, with the token that a sender must show."""

    async def receive(request: Request) -> JSONResponse:
        return await _receive(request, token)

    async def backup(request: Request) -> Response:
        return await _backup(request, token)

    return [
        Route(HEALTH, _health),
        Route(RECEIVE, receive, methods=["POST"]),
        Route(BACKUP, backup),
        Route(OPENAPI, _described),
    ]


async def _health(_request: Request) -> JSONResponse:
    """Whether the store answers, and which one it is."""
    try:
        keys, path = await run_in_threadpool(
            lambda: (len(session.store().stream_keys()), str(session.store().path.resolve()))
        )
    except LotHeatError as problem:
        return JSONResponse({"ok": False, "problem": str(problem)}, status_code=503)
    return JSONResponse({"ok": True, "streams": keys, "store": path})


async def _receive(request: Request, token: str) -> JSONResponse:
    """Take in the file that is the body of the request."""
    if not _known(request, token):
        return _stranger()
    asked = request.query_params
    name, by = asked.get("name", "").strip(), asked.get("by", "").strip()
    if not name or not by:
        return _problem(
            HTTPStatus.BAD_REQUEST,
            "the file's name or the sender is not given.",
            "Add ?name=march.csv&by=A.%20Quill to the address.",
        )
    content = await _body(request)
    if content is None:
        return _problem(
            HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
            f"the file is larger than {LARGEST_MB} MB.",
            "Split it and send the parts.",
        )
    try:
        told = await run_in_threadpool(_taken, name, content, asked.get("profile") or None, by)
    except IntakeError as problem:
        return _problem(HTTPStatus.UNPROCESSABLE_ENTITY, problem.what, problem.remedy, name)
    except LotHeatError as problem:
        return _problem(HTTPStatus.SERVICE_UNAVAILABLE, problem.what, problem.remedy, name)
    return JSONResponse(told)


async def _backup(request: Request, token: str) -> Response:
    """A copy of the whole store, as it is now."""
    if not _known(request, token):
        return _stranger()
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
    return copy, os.fstat(copy.fileno()).st_size


def _parts(copy: BinaryIO) -> Iterator[bytes]:
    with copy:
        while part := copy.read(_AT_ONCE):
            yield part


def _known(request: Request, token: str) -> bool:
    shown = request.headers.get("authorization", "").removeprefix("Bearer ")
    return hmac.compare_digest(shown.encode(), token.encode())


def _stranger() -> JSONResponse:
    return _problem(
        HTTPStatus.UNAUTHORIZED,
        "the token is missing or wrong.",
        "Send `Authorization: Bearer` with the token of the running server.",
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


def _taken(name: str, content: bytes, profile: str | None, by: str) -> dict[str, Any]:
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
    return JSONResponse(_DESCRIPTION)


def _answers(schema: dict[str, Any], *refusals: HTTPStatus) -> dict[str, Any]:
    good = {"200": {"description": "Done", "content": {"application/json": {"schema": schema}}}}
    return good | _refusals(*refusals)


def _refusals(*statuses: HTTPStatus) -> dict[str, Any]:
    return {
        str(int(status)): {
            "description": status.phrase,
            "content": {"application/json": {"schema": _PROBLEM}},
        }
        for status in statuses
    }


def _parameter(name: str, words: str, *, required: bool) -> dict[str, Any]:
    return {
        "name": name,
        "in": "query",
        "required": required,
        "description": words,
        "schema": _TEXT,
    }


_DESCRIPTION: Final = {
    "openapi": "3.1.0",
    "info": {
        "title": "lotheat",
        "version": "1",
        "description": "Files into a running store, and a copy of it.",
    },
    "paths": {
        HEALTH: {
            "get": {
                "summary": "Whether the store answers",
                "responses": _answers({"type": "object"}, HTTPStatus.SERVICE_UNAVAILABLE),
            }
        },
        RECEIVE: {
            "post": {
                "summary": "Take in one file: rows = stored + held + known",
                "security": [{"token": []}],
                "parameters": [
                    _parameter("name", "The file's name.", required=True),
                    _parameter("by", "Who brings it.", required=True),
                    _parameter(
                        "profile", "Source profile; else the header decides.", required=False
                    ),
                ],
                "requestBody": {
                    "required": True,
                    "content": {"application/octet-stream": {"schema": {"type": "string"}}},
                },
                "responses": _answers(
                    {"$ref": "#/components/schemas/Taken"},
                    HTTPStatus.BAD_REQUEST,
                    HTTPStatus.UNAUTHORIZED,
                    HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
                    HTTPStatus.UNPROCESSABLE_ENTITY,
                    HTTPStatus.SERVICE_UNAVAILABLE,
                ),
            }
        },
        BACKUP: {
            "get": {
                "summary": "A copy of the whole store, for `lotheat restore`",
                "security": [{"token": []}],
                "responses": {
                    "200": {
                        "description": "The copy",
                        "content": {"application/octet-stream": {}},
                    },
                    **_refusals(HTTPStatus.UNAUTHORIZED, HTTPStatus.SERVICE_UNAVAILABLE),
                },
            }
        },
    },
    "components": {
        "securitySchemes": {"token": {"type": "http", "scheme": "bearer"}},
        "schemas": {
            "Problem": {
                "type": "object",
                "properties": {"what": _TEXT, "where": _TEXT, "remedy": _TEXT},
            },
            "Taken": {
                "type": "object",
                "properties": {
                    "receipt": {
                        "type": "object",
                        "properties": {
                            "receipt": _TEXT,
                            "name": _TEXT,
                            "sha256": _TEXT,
                            **dict.fromkeys(("rows", "stored", "held", "known"), _COUNT),
                        },
                    },
                    "held_rows": {"type": "array", "items": {"type": "object"}},
                },
            },
        },
    },
}
