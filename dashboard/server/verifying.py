"""The record checked beside a server, and the check kept as a run."""

import json
from collections.abc import Mapping
from typing import Any

from starlette.concurrency import run_in_threadpool
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from dashboard.frame import session, upkeep
from dashboard.gate.senders import Sender
from dashboard.server import checking, jobs
from dashboard.server.schedule import Schedule
from spc.errors import InvalidInput


class Verifying:
    """The route by which programs have the record checked; each check is kept as a run."""

    def __init__(self, schedule: Schedule) -> None:
        self._schedule = schedule

    async def __call__(self, request: Request, sender: Sender) -> Response:
        """Check the store, and hold it against what the body gives."""
        given = _given(await request.body())
        return JSONResponse(await run_in_threadpool(self._checked, given, sender.name))

    def _checked(self, given: Mapping[str, str], name: str) -> dict[str, Any]:
        store = session.store()
        # A file that cannot be read is the asker's matter, and no run.
        against = checking.compared(store, **given)
        with self._schedule.noted(upkeep.VERIFY, by=name) as note:
            found = checking.told(store.verify(), against, anchor=store.anchor().line)
            note.tell(jobs.verified(found["checked"], found["faults"]))
        return found


def _given(body: bytes) -> dict[str, str]:
    try:
        given = json.loads(body or b"{}")
    except ValueError:
        given = None
    told: dict[str, str] = given if isinstance(given, dict) else {"": ""}
    odd = set(told) - {"against", "key", "root"}
    if odd or not all(isinstance(one, str) for one in told.values()):
        raise InvalidInput(
            "the body does not say what to check against.",
            where="verify",
            remedy='Send nothing, or JSON such as {"against": "lines of anchors", "key": "PEM"}.',
        )
    return told
