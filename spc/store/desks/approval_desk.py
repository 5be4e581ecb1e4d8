"""The door to proposals and their approval: `Store.approvals`."""

from dataclasses import dataclass
from datetime import date, datetime

from spc.store.approving import asking, business, effects, proposals, turning_down
from spc.store.approving.asking import Approving
from spc.store.approving.effects import Effect
from spc.store.approving.proposals import Proposal
from spc.store.catalogue import approvals, turned_down
from spc.store.catalogue.approvals import Approval, Entry, Key, Kind
from spc.store.catalogue.turned_down import TurnedDown
from spc.store.desks.known_desk import KnownDesk
from spc.store.file.cursors import Cursor
from spc.store.people import asking as signing
from spc.store.people.permissions import permit
from spc.store.people.proofs import Actor, Proof
from spc.store.people.requests import Request
from spc.store.people.together import together


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Look:
    """A proposal as it is looked at before its approval.

    Attributes
    ----------
    back_dated
        Whether its day is past, so that a second person must sign it.
    """

    proposal: Proposal
    effect: Effect
    back_dated: bool


class ApprovalDesk(KnownDesk):
    """Specifications and corrections: what waits, what it would change, and its approval."""

    def proposals(self) -> tuple[Proposal, ...]:
        """What waits for an approval, by name and version."""
        with self._read() as cursor:
            return proposals.waiting(cursor)

    def every(self, *, kind: Kind | str = "", name: str = "") -> tuple[Approval, ...]:
        """All approvals, or those of a kind or a name, by version."""
        with self._read() as cursor:
            return approvals.every(cursor, kind=kind, name=name)

    def of_specification(self, material: str, version: int) -> Approval | None:
        """The approval of one version of a material's specification; None if it waits."""
        with self._read() as cursor:
            return approvals.of_specification(cursor, material, version)

    def look(self, key: Key, *, since: date | None = None) -> Look:
        """What a proposal would change if it were in force from a day on.

        Parameters
        ----------
        since
            As its file states it if not given.

        Raises
        ------
        UnknownName
            If no such version waits.
        """
        with self._read() as cursor:
            proposal = proposals.one(cursor, key)
            day = asking.day_of(cursor, proposal, since)
            return Look(
                proposal=proposal,
                effect=effects.effect(cursor, proposal, since=day),
                back_dated=day < asking.today(cursor),
            )

    def ask(self, wanted: Approving, *, by: Proof) -> Request:
        """Write down what is to be signed; nobody has signed it yet.

        Raises
        ------
        NotAllowed
            If whoever asks may not even sign it first.
        SignatureRefused
            If it changes nothing, was overtaken, its effect was not looked at or is another by
            now, the reason says nothing, or it needs two persons where there is only one.
        """

        def work(cursor: Cursor, actor: Actor, at: datetime) -> Request:
            ask = asking.ask(cursor, actor.person, wanted)
            permit(actor, ask.deed)
            return signing.start(cursor, actor, ask, at=at)

        return self._act(by, work)

    def turned_down(self, *, kind: Kind | str = "", name: str = "") -> tuple[TurnedDown, ...]:
        """All that was turned down, or what was of a kind or a name, by version."""
        with self._read() as cursor:
            return turned_down.every(cursor, kind=kind, name=name)

    def received(self) -> tuple[Entry, ...]:
        """Every version that was received, whatever became of it; the next has another number."""
        with self._read() as cursor:
            return proposals.received(cursor)

    def ask_turning_down(self, key: Key, *, reason: str, by: Proof) -> Request:
        """Write down that a proposal is to be turned down; nobody has signed it yet.

        Raises
        ------
        NotAllowed
            If whoever asks may not approve it either.
        SignatureRefused
            If the reason says nothing.
        UnknownName
            If no such version waits.
        """

        def work(cursor: Cursor, actor: Actor, at: datetime) -> Request:
            ask = turning_down.ask(cursor, key, reason=reason)
            permit(actor, ask.deed)
            return signing.start(cursor, actor, ask, at=at)

        return self._act(by, work)

    def turn_down(
        self, key: Key, *, reason: str, by: Proof, second: Proof | None = None
    ) -> Request:
        """Turn a proposal down; it stays in the record, and no longer waits.

        Raises
        ------
        NotAllowed, SignatureRefused, UnknownName
            See `ask_turning_down`; and if no secret was given.
        """

        def work(cursor: Cursor, actor: Actor, at: datetime) -> Request:
            ask = turning_down.ask(cursor, key, reason=reason)
            done = together(cursor, actor, ask, second=second, at=at)
            if done.complete:
                turning_down.BUSINESS[done.deed].carry_out(cursor, done, actor=actor, at=at)
            return done

        return self._act(by, work)

    def approve(
        self, *wanted: Approving, by: Proof, second: Proof | None = None
    ) -> tuple[Request, ...]:
        """Approve proposals with one signature, in one transaction: all of them, or none.

        Parameters
        ----------
        second
            A second person at the same screen; later, by their own, if not given.

        Returns
        -------
        tuple of Request
            Each complete, or waiting for a second person; nothing that waits is in force.

        Raises
        ------
        NotAllowed
            If no role of theirs may.
        SignatureRefused
            See `ask`; and if no secret was given.
        """

        def work(cursor: Cursor, actor: Actor, at: datetime) -> tuple[Request, ...]:
            return tuple(_begun(cursor, actor, one, second, at) for one in wanted)

        return self._act(by, work)


def _begun(
    cursor: Cursor, actor: Actor, wanted: Approving, second: Proof | None, at: datetime
) -> Request:
    done = together(cursor, actor, asking.ask(cursor, actor.person, wanted), second=second, at=at)
    if done.complete:
        business.BUSINESS[done.deed].carry_out(cursor, done, actor=actor, at=at)
    return done
