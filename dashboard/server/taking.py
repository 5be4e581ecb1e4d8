"""A file from a program: the body of a request, taken in under the sender's token."""

from dataclasses import asdict
from http import HTTPStatus
from typing import Any, Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from dashboard.frame import session
from dashboard.gate.senders import Sender
from dashboard.server import problems, replies
from dashboard.server.shown import proof
from spc.errors import LotHeatError
from spc.intake.readers.limits import LARGEST_MB
from spc.store.people import Proof

_LARGEST: Final = LARGEST_MB * 1_000_000


async def take(request: Request, sender: Sender) -> Response:
    """Take in the file that is the body of the request."""
    asked = request.query_params
    name = asked.get("name", "").strip()
    if "by" in asked:
        return problems.refused(
            HTTPStatus.BAD_REQUEST,
            "who sends is told by the token, not by the address.",
            "Leave &by= out of the address.",
        )
    if not name:
        return problems.refused(
            HTTPStatus.BAD_REQUEST,
            "the file's name is not given.",
            "Add ?name=march.csv to the address.",
        )
    content = await _body(request)
    if content is None:
        return problems.refused(
            HTTPStatus.REQUEST_ENTITY_TOO_LARGE,
            f"the file is larger than {LARGEST_MB} MB.",
            "Split it and send the parts.",
        )
    profile = asked.get("profile") or None
    try:
        by = await run_in_threadpool(proof, request, sender)
        told = await run_in_threadpool(_taken, name, content, profile, by)
    except LotHeatError as problem:
        return problems.answered(problem, where=name)
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


def _taken(name: str, content: bytes, profile: str | None, by: Proof) -> dict[str, Any]:
    store = session.store()
    receipt = store.receive_bytes(name, content, profile, by=by)
    held = store.held(receipt.receipt)[list(replies.HELD_TOLD)].to_dict("records")
    told = asdict(receipt)
    told["received_at"] = receipt.received_at.isoformat()
    return {"receipt": told, "held_rows": held}
