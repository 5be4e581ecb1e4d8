"""Handing files to the server that has the store open, so that nobody meets a lock."""

import contextlib
import http.client
import json
import os
import ssl
from collections.abc import Iterator
from dataclasses import asdict, dataclass, replace
from datetime import datetime
from http import HTTPStatus
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote, urlencode

from spc.errors import IntakeError, StoreError
from spc.store import Receipt
from spc.store.backup import new_file

HEALTH: Final = "/healthz"
RECEIVE: Final = "/api/receive"
BACKUP: Final = "/api/backup"
STORE: Final = "/api/store"
LINK: Final = "/api/link"

_PATIENCE_S: Final = 3.0
# A million rows take a while; what takes longer than this has hung.
_LONGEST_S: Final = 600.0
_AT_ONCE: Final = 1 << 20


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A server that has a store open, as it announced itself.

    Attributes
    ----------
    token
        Only the processes of the server's user come to know it.
    name
        Under which files stand that are handed over with it.
    certificate
        File of the one that it shows, if it speaks TLS.
    """

    address: str
    port: int
    token: str
    name: str
    certificate: str = ""


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
        told.pop("process")
        found = Running(**told | {"port": int(told["port"])})
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return None
    try:
        status, said = _asked(found, "GET", STORE, patience=_PATIENCE_S)
    except OSError:
        return None
    mine = status == HTTPStatus.OK and said.get("store") == str(store.resolve())
    return found if mine else None


def hand_over(
    server: Running, name: str, content: bytes, *, profile: str | None, token: str = ""
) -> tuple[Receipt, list[dict[str, Any]]]:
    """Have the server take in a file; its receipt and the rows that it held.

    Parameters
    ----------
    token
        Of a sender in the register; empty for the server's own user, who is somebody only while
        nobody has an account.

    Raises
    ------
    IntakeError
        If the server refused the file.
    StoreError
        If it did not answer, could not take the file in, or does not know who sends it.
    """
    asked = {"name": name} | ({"profile": profile} if profile else {})
    address = f"{RECEIVE}?{urlencode(asked, quote_via=quote)}"
    with _saying_who_is_silent(name):
        sender = replace(server, token=token or server.token)
        status, told = _asked(sender, "POST", address, content, patience=_LONGEST_S)
    if status == HTTPStatus.OK:
        receipt = told["receipt"]
        receipt["received_at"] = datetime.fromisoformat(receipt["received_at"])
        receipt["created_lots"] = tuple(receipt["created_lots"])
        return Receipt(**receipt), told["held_rows"]
    refused = status == HTTPStatus.UNPROCESSABLE_ENTITY
    raise _refused(status, told, name, IntakeError if refused else StoreError)


def fetch_copy(server: Running, path: Path) -> None:
    """Have the server copy its store, and write the copy to a new file.

    Raises
    ------
    StoreError
        If there is a file already, or the server gave no whole copy; nothing is left of it then.
    """
    with new_file(path) as part, part.open("wb") as file:
        file.writelines(_copied(server, str(path)))


def fresh_link(server: Running) -> str:
    """A new link that signs the computer's user in, once.

    Raises
    ------
    StoreError
        If the server did not answer, or people sign in to it otherwise.
    """
    with _saying_who_is_silent("link"):
        status, told = _asked(server, "POST", LINK, patience=_PATIENCE_S)
    if status != HTTPStatus.OK:
        raise _refused(status, told, "link", StoreError)
    return str(told["link"])


def _copied(server: Running, where: str) -> Iterator[bytes]:
    with (
        _saying_who_is_silent(where),
        _answer(server, "GET", BACKUP, patience=_LONGEST_S) as answer,
    ):
        if answer.status != HTTPStatus.OK:
            raise _refused(answer.status, _told(answer.read()), where, StoreError)
        while part := answer.read(_AT_ONCE):
            yield part
        if answer.length:
            raise ConnectionError(f"the copy broke off {answer.length} bytes before its end")


@contextlib.contextmanager
def _saying_who_is_silent(where: str) -> Iterator[None]:
    try:
        yield
    except OSError as problem:
        raise StoreError(
            f"the running server did not answer: {problem}.",
            where=where,
            remedy="See whether it still runs, and do it again: what was taken in is known then.",
        ) from problem


def _refused(
    status: int, told: dict[str, Any], where: str, kind: type[IntakeError | StoreError]
) -> IntakeError | StoreError:
    return kind(
        str(told.get("what", f"the server answered with status {status}.")),
        where=str(told.get("where") or where),
        remedy=str(told.get("remedy", "Look at the server's own messages.")),
    )


def _place(store: Path) -> Path:
    return store.with_name(f"{store.name}.server.json")


def _asked(
    server: Running, method: str, address: str, content: bytes | None = None, *, patience: float
) -> tuple[int, dict[str, Any]]:
    with _answer(server, method, address, content, patience=patience) as answer:
        return answer.status, _told(answer.read())


@contextlib.contextmanager
def _answer(
    server: Running, method: str, address: str, content: bytes | None = None, *, patience: float
) -> Iterator[http.client.HTTPResponse]:
    connection = _connection(server, patience)
    try:
        headers = {"Authorization": f"Bearer {server.token}"}
        connection.request(method, address, body=content, headers=headers)
        yield connection.getresponse()
    except http.client.HTTPException as problem:
        raise ConnectionError(f"no lotheat answers on port {server.port}") from problem
    finally:
        connection.close()


def _connection(server: Running, patience: float) -> http.client.HTTPConnection:
    if not server.certificate:
        return http.client.HTTPConnection(server.address, server.port, timeout=patience)
    # The one certificate that the server named is trusted, and no other; the name in it is the one
    # that people type, not this machine's address.
    trusted = ssl.create_default_context(cafile=server.certificate)
    trusted.check_hostname = False
    trusted.verify_flags |= ssl.VERIFY_X509_PARTIAL_CHAIN
    return http.client.HTTPSConnection(
        server.address, server.port, timeout=patience, context=trusted
    )


def _told(body: bytes) -> dict[str, Any]:
    try:
        told = json.loads(body)
    except ValueError:
        return {}
    return told if isinstance(told, dict) else {}
