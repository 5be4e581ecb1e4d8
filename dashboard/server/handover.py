"""What the commands of the server's user hand to it, so that nobody meets a lock."""

import json
from collections.abc import Iterator, Mapping
from datetime import datetime
from pathlib import Path
from typing import Any, Final
from urllib.parse import quote, urlencode

from dashboard.server.reaching import (
    OWN_USER,
    PATIENCE_S,
    Question,
    Running,
    Sender,
    announced,
    asked,
    opened,
    running,
)
from spc.store import Receipt
from spc.store.backup import new_file

__all__ = [
    "BACKUP",
    "HEALTH",
    "LINK",
    "PEOPLE",
    "RECEIVE",
    "VERIFY",
    "Running",
    "announced",
    "fetch_copy",
    "fresh_link",
    "hand_over",
    "registered",
    "running",
    "verified",
]

HEALTH: Final = "/healthz"
RECEIVE: Final = "/api/receive"
BACKUP: Final = "/api/backup"
VERIFY: Final = "/api/verify"
PEOPLE: Final = "/api/people"
LINK: Final = "/api/link"

_AT_ONCE: Final = 1 << 20


def hand_over(
    server: Running,
    name: str,
    content: bytes,
    *,
    profile: str | None,
    sender: Sender = OWN_USER,
) -> tuple[Receipt, list[dict[str, Any]]]:
    """Have the server take in a file; its receipt and the rows that it held.

    Raises
    ------
    IntakeError
        If the server refused the file.
    StoreError
        If it did not answer, or could not take the file in.
    NotKnown, NotAllowed
        If nobody is known to send it, or they may not.
    """
    given = {"name": name} | ({"profile": profile} if profile else {})
    address = f"{RECEIVE}?{urlencode(given, quote_via=quote)}"
    question = Question(method="POST", address=address, content=content, where=name, sender=sender)
    told = asked(server, question)
    receipt = told["receipt"]
    receipt["received_at"] = datetime.fromisoformat(receipt["received_at"])
    receipt["created_lots"] = tuple(receipt["created_lots"])
    return Receipt(**receipt), told["held_rows"]


def fetch_copy(server: Running, path: Path) -> None:
    """Have the server copy its store, and write the copy to a new file.

    Raises
    ------
    StoreError
        If there is a file already, or the server gave no whole copy; nothing is left of it then.
    """
    with new_file(path) as part, part.open("wb") as file:
        file.writelines(_copied(server, str(path)))


def verified(server: Running, **given: str) -> dict[str, Any]:
    """Have the server check its store; takes texts: against, key, root.

    Raises
    ------
    InvalidInput
        If one of them cannot be read.
    StoreError
        If it did not answer, or could not check it.
    """
    content = json.dumps(given).encode()
    return asked(server, Question(method="POST", address=VERIFY, content=content, where="verify"))


def registered(
    server: Running, verb: str, given: Mapping[str, Any], *, person: tuple[str, str] | None = None
) -> dict[str, Any]:
    """Have the server look into its register of people, or change it.

    Parameters
    ----------
    verb, given
        See `register.VERBS`.
    person
        Name and secret of who acts; None where the computer's user does, and to look.

    Raises
    ------
    LotHeatError
        If the register does not allow it.
    """
    content = json.dumps(given, default=datetime.isoformat).encode()
    address = f"{PEOPLE}/{quote(verb)}"
    sender = Sender(person=person)
    return asked(
        server,
        Question(method="POST", address=address, content=content, sender=sender, where="people"),
    )


def fresh_link(server: Running) -> str:
    """A new link that signs the computer's user in, once.

    Raises
    ------
    StoreError
        If the server did not answer, or people sign in to it otherwise.
    """
    question = Question(method="POST", address=LINK, where="link", patience_s=PATIENCE_S)
    return str(asked(server, question)["link"])


def _copied(server: Running, where: str) -> Iterator[bytes]:
    with opened(server, Question(method="GET", address=BACKUP, where=where)) as answer:
        while part := answer.read(_AT_ONCE):
            yield part
        if answer.length:
            raise ConnectionError(f"the copy broke off {answer.length} bytes before its end")
