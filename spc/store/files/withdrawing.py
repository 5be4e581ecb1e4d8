"""A file or a sensor batch withdrawn: what is signed by two persons, and what is done then."""

import hashlib
from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from spc.errors import UnknownName
from spc.store.file.cursors import Cursor
from spc.store.files import withdrawals
from spc.store.files.withdrawals import Kind
from spc.store.people import Actor, Ask, Request
from spc.store.record import receipts

DEED: Final = "withdraw results"


def ask(cursor: Cursor, kind: Kind, name: str, *, cause: str) -> Ask:
    """What is to be signed for the results of a file or a sensor batch to be void.

    Raises
    ------
    UnknownName
        If no result of that file or batch stands.
    """
    found = withdrawals.standing(cursor, kind, name)
    called = receipts.content(cursor, name)[0] if kind == "file" else name
    return Ask(
        deed=DEED,
        subject=f"{kind} {called}",
        about={
            "kind": kind,
            "name": name,
            "called": called,
            "results": len(found),
            "lots": int(found["lot"].nunique()),
            "cause": cause.strip(),
        },
        rests_on={"results": _digest(found["result"].tolist())},
        meaning="withdrawn",
        reason=cause,
    )


class WithdrawalBusiness:
    """Results are withdrawn with the last signature that it needs, and count until then."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        """Which of its results stand."""
        try:
            found = withdrawals.standing(cursor, request.about["kind"], request.about["name"])
        except UnknownName:
            return {"results": ""}
        return {"results": _digest(found["result"].tolist())}

    def news(self, cursor: Cursor, request: Request) -> str:
        """What has changed since it was asked."""
        if not self.rests_on(cursor, request)["results"]:
            return "none of its results stands any more"
        return "other results of it stand"

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:  # noqa: ARG002
        """Make them void."""
        told = request.about
        withdrawals.withdraw(
            cursor,
            told["kind"],
            told["name"],
            cause=told["cause"],
            by=actor,
            names=(request.signatures[0].name, request.beside),
        )


BUSINESS: Final[Mapping[str, WithdrawalBusiness]] = MappingProxyType({DEED: WithdrawalBusiness()})


def _digest(results: list[str]) -> str:
    return hashlib.sha256("\n".join(sorted(results)).encode()).hexdigest()[:16]
