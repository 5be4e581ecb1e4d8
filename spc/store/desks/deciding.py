"""The door to decisions on lots: part of `Store`."""

from datetime import datetime

import pandas as pd

from spc.store.desks.known_desk import KnownDesk
from spc.store.file.cursors import Cursor
from spc.store.lots import deciding, dispositions
from spc.store.lots.deciding import Disposed, Seen
from spc.store.lots.release import Decision
from spc.store.people import Request
from spc.store.people.asking import start
from spc.store.people.proofs import Actor, Proof


class Decisions(KnownDesk):
    """Decisions on lots: what somebody saw, what they signed, and what was decided."""

    def seen(self, lot: str) -> Seen:
        """What is to be seen of a lot now; a signature given later rests on it."""
        with self._read() as cursor:
            return deciding.seen(cursor, lot)

    def ask_decision(  # noqa: PLR0913 - a signature has these parts
        self,
        lot: str,
        decision: str,
        *,
        by: Proof,
        reason: str,
        scope: str = "",
        expires_on: str = "",
        seen: Seen | None = None,
    ) -> Request:
        """Write down a decision that is to be signed; see `dispose`."""
        decided = Decision(decision=decision, reason=reason, scope=scope, expires_on=expires_on)

        def work(cursor: Cursor, actor: Actor, at: datetime) -> Request:
            asked = deciding.ask(cursor, actor, lot, decided, looked=seen)
            return start(cursor, actor, asked, at=at)

        return self._act(by, work)

    def dispose(  # noqa: PLR0913 - a signature has these parts
        self,
        lot: str,
        decision: str,
        *,
        by: Proof,
        reason: str,
        second: Proof | None = None,
        scope: str = "",
        expires_on: str = "",
        seen: Seen | None = None,
    ) -> Disposed:
        """Sign a decision on a lot; the evidence goes into the record with it.

        Parameters
        ----------
        second
            Of a second person at the same screen, where one must sign; without it the decision
            waits for them, and the lot stays as it was.
        scope, expires_on
            For a concession or a restriction: what it allows, and the ISO date until which.
        seen
            What the person looked at; if anything is new since, the signature is refused.

        Raises
        ------
        NotKnown, NotAllowed
            If `by` is no proof, or of somebody who may not decide so.
        DispositionRefused
            If the rules of release do not allow it, or something is new.
        SignatureRefused
            If no secret was given for it, the reason says nothing, or a second person is needed
            where only one works with the store.
        """
        decided = Decision(decision=decision, reason=reason, scope=scope, expires_on=expires_on)

        def work(cursor: Cursor, actor: Actor, at: datetime) -> Disposed:
            asked = deciding.ask(cursor, actor, lot, decided, looked=seen)
            return deciding.dispose(cursor, actor, asked, second=second, at=at)

        return self._act(by, work)

    def dispositions(self, lot: str = "") -> pd.DataFrame:
        """Decisions on one lot or on all, in the order in which they count."""
        with self._read() as cursor:
            return dispositions.every(cursor, lot)
