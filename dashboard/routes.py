"""The server's own routes: health, and taking in files from other processes and programs."""

import hmac
from dataclasses import asdict
from http import HTTPStatus
from typing import Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse
from starlette.routing import Route

from dashboard import session, tables
from dashboard.handover import HEALTH, RECEIVE
from spc.errors import IntakeError, LotHeatError
from spc.intake.readers.limits import LARGEST_MB

OPENAPI: Final = "/api/openapi.json"

_LARGEST: Final = LARGEST_MB * 1_000_000
_PROBLEM: Final = {"$ref": "#/components/schemas/Problem"}
_TEXT: Final = {"type": "string"}
_COUNT: Final = {"type": "integer", "minimum": 0}


def routes(token: str) -> list[Route]:
    """Every route, with the token that a sender must show."""

    async def receive(request: Request) -> JSONResponse:
        return await _receive(request, token)

    return [
        Route(HEALTH, _health),
        Route(RECEIVE, receive, methods=["POST"]),
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
    shown = request.headers.get("authorization", "").removeprefix("Bearer ")
    if not hmac.compare_digest(shown.encode(), token.encode()):
        return _problem(
            HTTPStatus.UNAUTHORIZED,
            "the token is missing or wrong.",
            "Send `Authorization: Bearer` with the token of the running server.",
        )
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
    held = store.held(receipt.receipt)[list(tables.HELD_TOLD)].to_dict("records")
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
    bad = {
        str(int(status)): {
            "description": status.phrase,
            "content": {"application/json": {"schema": _PROBLEM}},
        }
        for status in refusals
    }
    return good | bad


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
    "info": {"title": "lotheat", "version": "1", "description": "Files into a running store."},
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
