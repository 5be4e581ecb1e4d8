"""What a deed does once it is signed: what it rests on, what is new since, and the doing."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any, Protocol

from spc.store.file.cursors import Cursor
from spc.store.people.proofs import Actor
from spc.store.people.requests import Request


class Business(Protocol):
    """What a deed rests on, and how it is done once everybody has signed."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        """What the request's `rests_on` would be if it were asked now."""

    def news(self, cursor: Cursor, request: Request) -> str:
        """What is new where `rests_on` differs, in words without a full stop."""

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:
        """Do what was signed, in the transaction of the last signature, which is the actor's."""
