"""Handing files to the server that has the store open, so that nobody meets a lock."""

import contextlib
import http.client
import json
import os
import secrets
import shutil
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import datetime
from http import HTTPStatus
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote, urlencode

from spc.errors import IntakeError, StoreError
from spc.store import Receipt
from spc.store.backup import unfinished, vacant
from spc.store.connection import saying_what_to_do

HEALTH: Final = "/healthz"
RECEIVE: Final = "/api/receive"
BACKUP: Final = "/api/backup"

_PATIENCE_S: Final = 3.0
# A million rows take a while; what takes longer than this has hung.
_LONGEST_S: Final = 600.0
_AT_ONCE: Final = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A server that has a store open, as it announced itself."""

    address: str
    port: int
    token: str


def fresh_token() -> str:
    """A token that only the processes of one user come to know."""
    return secrets.token_urlsafe(32)


@contextlib.contextmanager
def announced(store: Path, server: Running) -> Iterator[None]:
    """Say, beside the store's file and to its owner only, where its server can be reached."""
    place = _place(store)
    place.unlink(missing_ok=True)
    told = {**asdict(server), "process": os.getpid()}
    # Made readable to its owner before the token is in it.
    with os.fdopen(os.open(place, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        json.dump(told, file)
    try:
        yield
    finally:
        place.unlink(missing_ok=True)


def running(store: Path) -> Running | None:
    """The server that has this store open; None if there is none, or only what one left behind."""
    try:
        told = json.loads(_place(store).read_text(encoding="utf-8"))
        found = Running(address=told["address"], port=int(told["port"]), token=told["token"])
    except (OSError, ValueError, KeyError, TypeError):
        return None
    try:
        status, said = _asked(found, "GET", HEALTH, patience=_PATIENCE_S)
    except OSError:
        return None
    mine = status == HTTPStatus.OK and said.get("store") == str(store.resolve())
    return found if mine else None


def hand_over(
    server: Running, name: str, content: bytes, *, profile: str | None, by: str
) -> tuple[Receipt, list[dict[str, Any]]]:
    """Have the server take in a file; its receipt and the rows that it held.

    Raises
    ------
    IntakeError
        If the server refused the file.
    StoreError
        If it did not answer, or could not take the file in.
    """
    asked = {"name": name, "by": by} | ({"profile": profile} if profile else {})
    address = f"{RECEIVE}?{urlencode(asked, quote_via=quote)}"
    try:
        status, told = _asked(server, "POST", address, content, patience=_LONGEST_S)
    except OSError as problem:
        raise StoreError(
            f"the running server did not answer: {problem}.",
            where=name,
            remedy="See whether it still runs; a file that was taken in is known the next time.",
        ) from problem
    if status == HTTPStatus.OK:
        receipt = told["receipt"]
        receipt["received_at"] = datetime.fromisoformat(receipt["received_at"])
        receipt["created_lots"] = tuple(receipt["created_lots"])
        return Receipt(**receipt), told["held_rows"]
    refused = status == HTTPStatus.UNPROCESSABLE_ENTITY
    kind = IntakeError if refused else StoreError
    raise kind(
        str(told.get("what", f"the server answered with status {status}.")),
        where=str(told.get("where") or name),
        remedy=str(told.get("remedy", "Look at the server's own messages.")),
    )


def fetch_copy(server: Running, path: Path) -> None:
    """Have the server copy its store, and write the copy to a new file.

    Raises
    ------
    StoreError
        If there is a file already, or the server gave no whole copy; nothing is left of it then.
    """
    vacant(path)
    part = unfinished(path)
    try:
        with saying_what_to_do(path):
            path.parent.mkdir(parents=True, exist_ok=True)
            _fetched(server, part)
            part.replace(path)
    finally:
        part.unlink(missing_ok=True)


def _fetched(server: Running, part: Path) -> None:
    connection = http.client.HTTPConnection(server.address, server.port, timeout=_LONGEST_S)
    try:
        connection.request("GET", BACKUP, headers={"Authorization": f"Bearer {server.token}"})
        answer = connection.getresponse()
        if answer.status != HTTPStatus.OK:
            raise StoreError(
                f"the running server gave no copy (status {answer.status}).",
                remedy="Look at the server's own messages, or stop it and do it again.",
            )
        with part.open("wb") as file:
            shutil.copyfileobj(answer, file, _AT_ONCE)
            missing = answer.length
    except http.client.HTTPException as problem:
        raise ConnectionError(f"no lotheat answers on port {server.port}") from problem
    finally:
        connection.close()
    if missing:
        raise StoreError(
            f"the copy broke off {missing} bytes before its end.",
            remedy="See whether the server still runs, and do it again.",
        )


def _place(store: Path) -> Path:
    return store.with_name(f"{store.name}.server.json")


def _asked(
    server: Running, method: str, address: str, content: bytes | None = None, *, patience: float
) -> tuple[int, dict[str, Any]]:
    connection = http.client.HTTPConnection(server.address, server.port, timeout=patience)
    try:
        headers = {"Authorization": f"Bearer {server.token}"}
        connection.request(method, address, body=content, headers=headers)
        answer = connection.getresponse()
        body = answer.read()
    except http.client.HTTPException as problem:
        raise ConnectionError(f"no lotheat answers on port {server.port}") from problem
    finally:
        connection.close()
    try:
        told = json.loads(body)
    except ValueError:
        told = {}
    return answer.status, told if isinstance(told, dict) else {}
