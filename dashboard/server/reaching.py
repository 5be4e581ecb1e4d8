"""The running server of a store: where it announced itself, and how its user's commands ask it."""

import base64
import contextlib
import http.client
import json
import os
import ssl
from collections.abc import Iterator, Mapping
from dataclasses import asdict, dataclass
from http import HTTPStatus
from pathlib import Path
from typing import Any, Final

from spc.errors import (
    DispositionRefused,
    IntakeError,
    InvalidInput,
    LotHeatError,
    NotKnown,
    RegisterRefused,
    SignatureRefused,
    SignInRefused,
    StoreError,
)

STORE: Final = "/api/store"

# Who acts, beside the server's own token: name and secret.
PERSON: Final = "lotheat-person"

PATIENCE_S: Final = 3.0
# A million rows take a while; what takes longer than this has hung.
LONGEST_S: Final = 600.0


# Kinds that the other end makes again as they were; of any other it keeps the words.
KINDS: Final = {
    one.__name__: one
    for one in (
        DispositionRefused,
        IntakeError,
        InvalidInput,
        NotKnown,
        RegisterRefused,
        SignatureRefused,
        SignInRefused,
    )
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A server that has a store open, as it announced itself.

    Attributes
    ----------
    token
        Only the processes of the server's user come to know it.
    name
        The user for whom it runs.
    certificate
        File of the one that it shows, if it speaks TLS.
    """

    address: str
    port: int
    token: str
    name: str
    certificate: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sender:
    """Who acts when a server is asked; neither for the computer's user.

    Attributes
    ----------
    token
        Of a sender in the register, shown in place of the server's own.
    person
        Name and secret of somebody with an account; or an empty name and the key of their session.
    """

    token: str = ""
    person: tuple[str, str] | None = None


OWN_USER: Final = Sender()


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """What is asked of a server.

    Attributes
    ----------
    where
        Stands before what is told if it goes wrong.
    """

    method: str
    address: str
    where: str
    content: bytes | None = None
    sender: Sender = OWN_USER
    patience_s: float = LONGEST_S


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
    which = Question(method="GET", address=STORE, where=str(store), patience_s=PATIENCE_S)
    try:
        with _answer(found, which) as answer:
            status, said = answer.status, _told(answer.read())
    except OSError:
        return None
    mine = status == HTTPStatus.OK and said.get("store") == str(store.resolve())
    return found if mine else None


def asked(server: Running, question: Question) -> dict[str, Any]:
    """What a server answers.

    Raises
    ------
    LotHeatError
        What it refused, of the kind that it was there.
    StoreError
        If it did not answer.
    """
    with opened(server, question) as answer:
        return _told(answer.read())


@contextlib.contextmanager
def opened(server: Running, question: Question) -> Iterator[http.client.HTTPResponse]:
    """An answer to be read; raises as `asked` does."""
    try:
        with _answer(server, question) as answer:
            if answer.status != HTTPStatus.OK:
                told = _told(answer.read())
                raise _made_again(told, status=answer.status, where=question.where)
            yield answer
    except OSError as problem:
        raise StoreError(
            f"the running server did not answer: {problem}.",
            where=question.where,
            remedy="See whether it still runs, and do it again: what was taken in is known then.",
        ) from problem


def credentials(person: tuple[str, str]) -> str:
    """Name and secret as they are sent."""
    return base64.b64encode(json.dumps(person).encode()).decode()


def person_shown(headers: Mapping[str, str]) -> tuple[str, str] | None:
    """Name and secret as they were sent; None if they were not, or cannot be read."""
    try:
        name, secret = json.loads(base64.b64decode(headers.get(PERSON, ""), validate=True))
    except (ValueError, TypeError):
        return None
    return (name, secret) if isinstance(name, str) and isinstance(secret, str) else None


def _place(store: Path) -> Path:
    return store.with_name(f"{store.name}.server.json")


@contextlib.contextmanager
def _answer(server: Running, question: Question) -> Iterator[http.client.HTTPResponse]:
    connection = _connection(server, question.patience_s)
    sender = question.sender
    headers = {"Authorization": f"Bearer {sender.token or server.token}"}
    if sender.person is not None:
        headers[PERSON] = credentials(sender.person)
    try:
        connection.request(
            question.method, question.address, body=question.content, headers=headers
        )
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


def _made_again(told: dict[str, Any], *, status: int, where: str) -> LotHeatError:
    """The problem that an answer tells, to be raised on the other end."""
    named = told.get("kind", StoreError.__name__)
    kind: type[LotHeatError] = KINDS.get(named, LotHeatError)
    return (StoreError if named == StoreError.__name__ else kind)(
        str(told.get("what", f"the server answered with status {status}.")),
        where=str(told.get("where") or where),
        remedy=str(told.get("remedy", "Look at the server's own messages.")),
    )
