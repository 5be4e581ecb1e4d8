"""A result made void: what is signed by two persons, and what is done then."""

from collections.abc import Mapping
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from spc.store.file.cursors import Cursor
from spc.store.lots import invalidations
from spc.store.people import Actor, Ask, Request

DEED: Final = "void results"


def ask(cursor: Cursor, result: str, *, cause: str) -> Ask:
    """What is to be signed for a result to be void.

    Raises
    ------
    InvalidInput
        If it is void already.
    UnknownName
        If there is no such result.
    """
    found = invalidations.standing(cursor, result)
    return Ask(
        deed=DEED,
        subject=f"a result of lot {found['lot']}",
        about={
            "lot": found["lot"],
            "result": result,
            "what": f"{found['characteristic']} by {found['method']}, sample"
            f" {found['sample'] or 'not named'}: {found['reading_text']} {found['reading_unit']}",
            "cause": cause.strip(),
        },
        rests_on={"void": False},
        meaning="made void",
        reason=cause,
    )


class VoidBusiness:
    """A result is void with the last signature that it needs, and counts until then."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        """Whether it is void already."""
        return {"void": invalidations.is_void(cursor, request.about["result"])}

    def news(self, _cursor: Cursor, _request: Request) -> str:
        """What has changed since it was asked."""
        return "the result was made void"

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:  # noqa: ARG002
        """Make it void."""
        invalidations.invalidate(
            cursor,
            request.about["result"],
            cause=request.about["cause"],
            by=actor,
            names=(request.signatures[0].name, request.beside),
        )


BUSINESS: Final[Mapping[str, VoidBusiness]] = MappingProxyType({DEED: VoidBusiness()})
