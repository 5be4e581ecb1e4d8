"""Results corrected: what is signed, by two where a lot is decided, and what is done then."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from types import MappingProxyType
from typing import Any, Final

from spc.errors import InvalidInput, UnknownName
from spc.store.file.cursors import Cursor
from spc.store.files.changed_results import correct, in_words, state, told_of
from spc.store.people import Actor, Ask, Request
from spc.store.people.faithful import refuse_other

DEED: Final = "correct results"
DECIDED: Final = "correct results of a decided lot"


def ask(cursor: Cursor, receipt: str, rows: Sequence[int], *, reason: str) -> Ask:
    """What is to be signed for the results of held rows to supersede those that stand.

    Raises
    ------
    InvalidInput
        If a row does not wait for a changed result, or says more that contradicts what is known.
    UnknownName
        If a row does not wait.
    """
    told, _ = told_of(cursor, receipt, rows)
    pairs = told.pairs
    return Ask(
        deed=DECIDED if told.decided else DEED,
        subject=told.subject,
        about={
            "key": receipt,
            "rows": [int(row) for row in rows],
            "lots": ", ".join(sorted(pairs["lot"].unique())),
            "decided": ", ".join(told.decided),
            "what": "; ".join(in_words(one) for one in pairs.to_dict("records")),
            "cause": reason.strip(),
        },
        rests_on=state(told),
        meaning="corrected",
        reason=reason,
    )


class CorrectionBusiness:
    """Results are superseded with the last signature that it needs, and count until then."""

    def rests_on(self, cursor: Cursor, request: Request) -> Mapping[str, Any]:
        """The results that would be superseded, and which of their lots are decided."""
        try:
            told, _ = told_of(cursor, request.about["key"], request.about["rows"])
        except (InvalidInput, UnknownName):
            return {"standing": "", "decided": []}
        return state(told)

    def news(self, cursor: Cursor, request: Request) -> str:
        """What has changed since it was asked."""
        if not self.rests_on(cursor, request)["standing"]:
            return "the rows wait no longer, or wait for something else"
        return "another result stands, or a lot was decided"

    def carry_out(self, cursor: Cursor, request: Request, *, actor: Actor, at: datetime) -> None:  # noqa: ARG002
        """Let the new results supersede the old ones."""
        told = request.about
        refuse_other(request, ask(cursor, told["key"], told["rows"], reason=told["cause"]))
        first = request.signatures[0].name
        correct(
            cursor,
            told["key"],
            told["rows"],
            reason=told["cause"],
            by=actor,
            names=(first, request.beside),
        )


BUSINESS: Final[Mapping[str, CorrectionBusiness]] = MappingProxyType(
    dict.fromkeys((DEED, DECIDED), CorrectionBusiness())
)
