"""The door to what waits for a signature, and the signing of it: `Store.signing`."""

from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from types import MappingProxyType
from typing import Final

from spc.errors import SignatureRefused, UnknownName
from spc.store.connection import Connection
from spc.store.desks.known_desk import Clock, KnownDesk
from spc.store.file.cursors import Cursor
from spc.store.people import asking, requests, signatures
from spc.store.people.asking import Ask
from spc.store.people.business import Business
from spc.store.people.identity import identify
from spc.store.people.permissions import permit
from spc.store.people.proofs import Actor, Proof
from spc.store.people.requests import Request
from spc.store.record import audit

_HOLD: Final = "hold a lot"
_RELEASE: Final = "release a lot over a hold"
_TOLD_FOR: Final = timedelta(days=14)
_NOTHING: Final[Mapping[str, Business]] = MappingProxyType({})


class SigningDesk(KnownDesk):
    """Requests for signatures of one store.

    Parameters
    ----------
    business
        By deed; a deed that is not in it cannot be signed here, only at its own door.
    """

    def __init__(
        self,
        connection: Connection,
        *,
        business: Mapping[str, Business] = _NOTHING,
        clock: Clock = audit.moment,
    ) -> None:
        super().__init__(connection, clock=clock)
        self._business = business

    def ask(self, ask: Ask, *, by: Proof) -> Request:
        """Write down what is to be signed, by oneself or by another; nobody has signed it yet.

        Raises
        ------
        NotAllowed
            If whoever asks may not even sign it first.
        SignatureRefused
            If it has no reason, or needs two persons where there is only one.
        """

        def work(cursor: Cursor, actor: Actor, at: datetime) -> Request:
            permit(actor, ask.deed)
            return asking.start(cursor, actor, ask, at=at)

        return self._act(by, work)

    def sign(self, *wanted: str, by: Proof) -> tuple[Request, ...]:
        """Sign one request, or several with one secret; what is complete is done at once.

        Raises
        ------
        NotAllowed
            If no role of theirs may sign one of them.
        SignatureRefused
            If no secret was given, the same person signed before, or what one of them rests on has
            changed, which makes that one void; then none is signed.
        """

        def work(cursor: Cursor, actor: Actor, at: datetime) -> tuple[Request, ...]:
            asked = [requests.one(cursor, one) for one in wanted]
            overtaken = [one for one in asked if self._is_overtaken(cursor, one)]
            for one in overtaken:
                why = self._business_of(one).news(cursor, one)
                asking.end(cursor, one, "void", actor=actor, why=why, at=at)
            if overtaken:
                return tuple(requests.one(cursor, one.request) for one in overtaken)
            together = signatures.bundle([one.sha256 for one in asked])
            signed: list[Request] = []
            for one in asked:
                # As it stands then: what was signed before it may have overtaken it.
                now = requests.one(cursor, one.request) if signed else one
                signed.append(self._signed(cursor, now, actor, together, at))
            return tuple(signed)

        done = self._act(by, work)
        _refuse_void(done)
        return done

    def decline(self, request: str, *, by: Proof, reason: str) -> None:
        """Refuse to sign what waits, or take back what one asked for; it stays in the record.

        Raises
        ------
        NotAllowed, SignatureRefused
            If it neither waits for this person nor was asked by them.
        """

        def work(cursor: Cursor, actor: Actor, at: datetime) -> None:
            one = requests.one(cursor, request)
            why = asking.reason_told(reason, where=one.subject)
            if one.state not in {"open", "waiting"}:
                raise SignatureRefused(
                    f"it is {one.state} already.",
                    where=one.subject,
                    remedy="Open the subject again and see how it stands.",
                )
            if actor.person != one.asked_by:
                signatures.role_for(one, actor)
            asking.end(cursor, one, "declined", actor=actor, why=why, at=at)

        self._act(by, work)

    def one(self, request: str) -> Request:
        """One request with its signatures."""
        with self._read() as cursor:
            return requests.one(cursor, request)

    def about(self, subject: str) -> tuple[Request, ...]:
        """Every request about a lot, a blend or a file, oldest first."""
        with self._read() as cursor:
            return requests.every(cursor, subject=subject)

    def pending(self, *, by: Proof) -> tuple[Request, ...]:
        """What was signed by another and waits for this person, oldest first."""
        return self._mine(by, lambda one: one.state == "waiting")

    def to_countersign(self, *, by: Proof) -> tuple[Request, ...]:
        """What was done by one person alone and waits for this one, oldest first."""
        return self._mine(by, lambda one: one.alone)

    def released(self, *, by: Proof) -> tuple[tuple[Request, Request], ...]:
        """Lots that this person held and others released in the last two weeks, newest first.

        Each as the hold, and what was signed over it.
        """
        with self._read() as cursor:
            at = self._clock(cursor)
            actor = identify(cursor, by, at=at)
            every = requests.every(cursor)
        return tuple(
            (hold, over)
            for hold, over in reversed(_over_holds(every))
            if hold.signatures[0].person == actor.person
            and actor.person not in {one.person for one in over.signatures}
            and at - over.signatures[-1].signed_at < _TOLD_FOR
        )

    def _mine(self, by: Proof, wanted: Callable[[Request], bool]) -> tuple[Request, ...]:
        with self._read() as cursor:
            actor = identify(cursor, by, at=self._clock(cursor))
            every = requests.every(cursor)
        return tuple(one for one in every if wanted(one) and signatures.can_sign(one, actor))

    def _signed(
        self, cursor: Cursor, request: Request, actor: Actor, together: str, at: datetime
    ) -> Request:
        signed = signatures.sign(cursor, request, actor, at=at, about=together)
        if signed.complete and not request.complete:
            self._business_of(request).carry_out(cursor, signed, actor=actor, at=at)
        return signed

    def _is_overtaken(self, cursor: Cursor, request: Request) -> bool:
        if request.state not in {"open", "waiting"}:
            return False
        return self._business_of(request).rests_on(cursor, request) != request.rests_on

    def _business_of(self, request: Request) -> Business:
        if request.deed not in self._business:
            raise UnknownName("deed to sign here", request.deed, known=list(self._business))
        return self._business[request.deed]


def _over_holds(every: tuple[Request, ...]) -> list[tuple[Request, Request]]:
    """Every release over a hold with the hold it was over, oldest first."""
    held: dict[str, Request] = {}
    found = []
    for one in every:
        if one.complete and one.deed == _HOLD:
            held[one.subject] = one
        if one.complete and one.deed == _RELEASE and one.subject in held:
            found.append((held[one.subject], one))
    return found


def _refuse_void(done: tuple[Request, ...]) -> None:
    void = next((one for one in done if one.state == "void"), None)
    if void is not None:
        raise SignatureRefused(
            f"something is new since it was asked, so nothing was signed: {void.ended_why}.",
            where=void.subject,
            remedy="Open it again, read what is new, and sign then.",
            reason_typed=void.reason,
        )
