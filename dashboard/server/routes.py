"""The server's own routes: health, files from other processes and programs, a copy, a check.

Every route but health and the description asks for a token, which says who sends; a name in the
address or in the body would be anybody's word.
"""

import json
import logging
from collections.abc import Awaitable, Callable
from dataclasses import asdict, dataclass
from datetime import datetime
from http import HTTPStatus
from typing import Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response
from starlette.routing import Route

from dashboard.frame import session
from dashboard.gate.layer import PERSON_HEADER
from dashboard.gate.senders import OWN, Sender, SenderOf, stranger, token_shown
from dashboard.server import problems, register
from dashboard.server.copying import copy
from dashboard.server.handover import BACKUP, HEALTH, LINK, PEOPLE, RECEIVE, VERIFY
from dashboard.server.openapi import DESCRIPTION
from dashboard.server.reaching import STORE
from dashboard.server.schedule import Schedule
from dashboard.server.shown import proof
from dashboard.server.taking import take
from dashboard.server.verifying import Verifying
from spc.errors import InvalidInput, LotHeatError, NotAllowed, NotKnown

OPENAPI: Final = "/api/openapi.json"

_LOG: Final = logging.getLogger(__name__)

Answering = Callable[[Request, Sender], Awaitable[Response]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Programs:
    """What the routes for programs need.

    Attributes
    ----------
    link
        Makes a link that signs the computer's user in; None where people sign in otherwise.
    """

    senders: SenderOf
    schedule: Schedule
    link: Callable[[], str] | None

    def routes(self) -> list[Route]:
        """Every route."""
        verify = self._for("verify the record", Verifying(self.schedule))
        return [
            Route(HEALTH, self._health),
            Route(RECEIVE, self._for("receive files", take), methods=["POST"]),
            Route(BACKUP, self._for("back up", copy)),
            Route(VERIFY, verify, methods=["GET", "POST"]),
            Route(PEOPLE + "/{verb}", self._for(OWN, _register), methods=["POST"]),
            Route(STORE, self._for(OWN, _which)),
            Route(LINK, self._for(OWN, self._linked), methods=["POST"]),
            Route(OPENAPI, _described),
        ]

    def _for(self, deed: str, answer: Answering) -> Callable[[Request], Awaitable[Response]]:
        """A route for who may do a deed."""

        async def endpoint(request: Request) -> Response:
            try:
                return await answer(request, await self._sender(request, deed))
            except LotHeatError as problem:
                return problems.answered(problem)

        return endpoint

    async def _sender(self, request: Request, deed: str) -> Sender:
        token = token_shown(request.headers)
        if token is None:
            raise stranger()
        return await run_in_threadpool(self.senders, token, deed)

    async def _health(self, request: Request) -> JSONResponse:
        """Whether the store answers; what runs by itself only to who may look."""
        try:
            await run_in_threadpool(lambda: session.store().stream_keys())
        except LotHeatError as problem:
            _LOG.warning("the store does not answer: %s", problem)
            return JSONResponse({"ok": False}, status_code=503)
        runs = {"runs": self._runs()} if await self._may_look(request) else {}
        return JSONResponse({"ok": True, **runs})

    async def _may_look(self, request: Request) -> bool:
        if PERSON_HEADER in request.headers:
            return True
        try:
            await self._sender(request, "look")
        except (NotKnown, NotAllowed):
            return False
        return True

    def _runs(self) -> list[dict[str, Any]]:
        told = [asdict(one) for one in self.schedule.told()]
        plain: list[dict[str, Any]] = json.loads(json.dumps(told, default=datetime.isoformat))
        return plain

    async def _linked(self, _request: Request, _sender: Sender) -> Response:
        """A fresh link for the computer's user."""
        if self.link is None:
            return problems.refused(
                HTTPStatus.CONFLICT,
                "people sign in to this server with their own names.",
                "Open its address and sign in.",
                kind="StoreError",
            )
        return JSONResponse({"link": self.link()})


async def _which(_request: Request, _sender: Sender) -> Response:
    """Which store is shown, so that a command knows its own server from another."""
    return JSONResponse({"store": str(session.store().path.resolve())})


async def _register(request: Request, sender: Sender) -> Response:
    """The register of people, for the commands of the server's user and whoever acts there."""
    given, people = _object(await request.body()), session.store().people
    verb = request.path_params["verb"]
    told = await run_in_threadpool(
        lambda: register.carry_out(people, verb, given, by=lambda: proof(request, sender))
    )
    return JSONResponse(told)


def _object(body: bytes) -> dict[str, Any]:
    try:
        told = json.loads(body)
    except ValueError:
        told = None
    if not isinstance(told, dict):
        raise InvalidInput("the body is no JSON object.", where="people", remedy="Send one.")
    return told


async def _described(_request: Request) -> JSONResponse:
    """The routes in the terms of OpenAPI 3.1."""
    return JSONResponse(DESCRIPTION)
