"""The door to decisions on lots: part of `Store`."""

from dataclasses import dataclass
from datetime import datetime

import pandas as pd

from spc.store.blends import drawn
from spc.store.blends.drawn import Drawn
from spc.store.desks.known_desk import KnownDesk
from spc.store.file.cursors import Cursor
from spc.store.lots import deciding, dispositions
from spc.store.lots.deciding import Disposed, Seen
from spc.store.lots.release import RELEASING, Decision
from spc.store.people import Request, asking
from spc.store.people.proofs import Actor, Proof


@dataclass(frozen=True, slots=True, kw_only=True)
class Corrected:
    """What became of a correction.

    Attributes
    ----------
    disposed
        Signed, or waiting for the second person.
    drawn
        What was already drawn of the lot, where the correction blocks it.
    """

    disposed: Disposed
    drawn: tuple[Drawn, ...] = ()


class Decisions(KnownDesk):
    """Decisions on lots: what somebody saw, what they signed, and what was decided."""

    def seen(self, lot: str) -> Seen:
        """What is to be seen of a lot now; a signature given later rests on it."""
        with self._read() as cursor:
            return deciding.seen(cursor, lot)

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
        return self._sign(lot, decided, by=by, second=second, seen=seen)

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
        asks: str = "",
    ) -> Request:
        """Write down a decision that is to be signed later: with others, or on its own page.

        Raises as `dispose` does, but asks for no secret.
        """
        decided = Decision(decision=decision, reason=reason, scope=scope, expires_on=expires_on)
        return self._ask(lot, decided, by=by, seen=seen, asks=asks)

    def correct_decision(  # noqa: PLR0913 - a signature has these parts
        self,
        disposition: str,
        decision: str,
        *,
        by: Proof,
        reason: str,
        second: Proof | None = None,
        scope: str = "",
        expires_on: str = "",
        seen: Seen | None = None,
    ) -> Corrected:
        """Sign that a decision was wrong, and what holds instead; both stay in the record.

        Two persons sign it always.  Only the decision that counts now can be corrected; a
        correction can be corrected too.

        Raises as `dispose` does.
        """
        lot, decided = self._correction(disposition, decision, reason, (scope, expires_on))
        done = self._sign(lot, decided, by=by, second=second, seen=seen)
        if done.state == "waiting" or decision in RELEASING:
            return Corrected(disposed=done)
        with self._read() as cursor:
            return Corrected(disposed=done, drawn=drawn.drawn(cursor, [lot]))

    def ask_correction(  # noqa: PLR0913 - a signature has these parts
        self,
        disposition: str,
        decision: str,
        *,
        by: Proof,
        reason: str,
        scope: str = "",
        expires_on: str = "",
        seen: Seen | None = None,
        asks: str = "",
    ) -> Request:
        """Write down a correction that is to be signed on its own page; see `correct_decision`."""
        lot, decided = self._correction(disposition, decision, reason, (scope, expires_on))
        return self._ask(lot, decided, by=by, seen=seen, asks=asks)

    def dispositions(self, lot: str = "") -> pd.DataFrame:
        """Decisions on one lot or on all, in the order in which they count."""
        with self._read() as cursor:
            return dispositions.every(cursor, lot)

    def _correction(
        self, disposition: str, decision: str, reason: str, terms: tuple[str, str]
    ) -> tuple[str, Decision]:
        """The lot that a decision is about, and what is to hold instead of it."""
        with self._read() as cursor:
            lot = dispositions.lot_of(cursor, disposition)
        scope, expires_on = terms
        return lot, Decision(
            decision=decision,
            reason=reason,
            scope=scope,
            expires_on=expires_on,
            corrects=disposition,
        )

    def _sign(
        self, lot: str, decided: Decision, *, by: Proof, second: Proof | None, seen: Seen | None
    ) -> Disposed:
        def work(cursor: Cursor, actor: Actor, at: datetime) -> Disposed:
            asked = deciding.ask(cursor, actor, lot, decided, looked=seen)
            return deciding.dispose(cursor, actor, asked, second=second, at=at)

        return self._act(by, work)

    def _ask(
        self, lot: str, decided: Decision, *, by: Proof, seen: Seen | None, asks: str
    ) -> Request:
        def work(cursor: Cursor, actor: Actor, at: datetime) -> Request:
            asked = deciding.ask(cursor, actor, lot, decided, looked=seen, asks=asks)
            return asking.start(cursor, actor, asked, at=at)

        return self._act(by, work)
