"""The routes for programs, in the terms of OpenAPI 3.1."""

from http import HTTPStatus
from typing import Any, Final

from dashboard.server.handover import BACKUP, HEALTH, RECEIVE, VERIFY

_PROBLEM: Final = {"$ref": "#/components/schemas/Problem"}
_TEXT: Final = {"type": "string"}
_TEXTS: Final = {"type": "array", "items": _TEXT}
_COUNT: Final = {"type": "integer", "minimum": 0}


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


DESCRIPTION: Final = {
    "openapi": "3.1.0",
    "info": {
        "title": "lotheat",
        "version": "1",
        "description": "Files into a running store, a copy of it, and a check of its record.",
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
                "summary": "Take in one file, sent by the token's owner: rows = stored + held"
                " + known",
                "security": [{"token": []}],
                "parameters": [
                    _parameter("name", "The file's name.", required=True),
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
                    HTTPStatus.FORBIDDEN,
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
                    **_refusals(
                        HTTPStatus.UNAUTHORIZED,
                        HTTPStatus.FORBIDDEN,
                        HTTPStatus.SERVICE_UNAVAILABLE,
                    ),
                },
            }
        },
        VERIFY: {
            "post": {
                "summary": "Check the whole record, and hold it against anchors kept elsewhere",
                "security": [{"token": []}],
                "requestBody": {
                    "required": False,
                    "content": {
                        "application/json": {
                            "schema": {
                                "type": "object",
                                "properties": {"against": _TEXT, "key": _TEXT, "root": _TEXT},
                            }
                        }
                    },
                },
                "responses": _answers(
                    {"$ref": "#/components/schemas/Checked"},
                    HTTPStatus.UNAUTHORIZED,
                    HTTPStatus.FORBIDDEN,
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
                "properties": dict.fromkeys(("what", "where", "remedy", "kind"), _TEXT),
            },
            "Checked": {
                "type": "object",
                "properties": {
                    "ok": {"type": "boolean"},
                    "checked": {"type": "object", "additionalProperties": _COUNT},
                    **dict.fromkeys(("faults", "notes", "anchors"), _TEXTS),
                    "anchor": _TEXT,
                },
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
