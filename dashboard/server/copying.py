"""A copy of the whole store, sent to a program while people work."""

import os
import secrets
from collections.abc import Iterator
from typing import BinaryIO, Final

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse

from dashboard.frame import session
from dashboard.gate.senders import Sender
from spc.store.backup import beside

_AT_ONCE: Final = 1 << 20


async def copy(_request: Request, _sender: Sender) -> Response:
    """A copy of the store as it is now."""
    made, size = await run_in_threadpool(_copied)
    return StreamingResponse(
        _parts(made),
        media_type="application/octet-stream",
        headers={"Content-Length": str(size)},
    )


def _copied() -> tuple[BinaryIO, int]:
    """A copy of the store, open and already without a name: it is gone when it is closed."""
    store = session.store()
    path = store.path.with_name(f"{store.path.name}.{secrets.token_hex(8)}.copy")
    store.backup(path)
    made = path.open("rb")
    path.unlink()
    beside(path).unlink()
    return made, os.fstat(made.fileno()).st_size


def _parts(made: BinaryIO) -> Iterator[bytes]:
    with made:
        while part := made.read(_AT_ONCE):
            yield part
