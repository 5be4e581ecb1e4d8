"""What is to be signed, by whom, and how far it is; and the proof made of what was typed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from spc.errors import LotHeatError
from spc.store import Store
from spc.store.people import Actor, Proof, Request
from spc.store.people.signatures import role_for

Stage = Literal["first", "second", "waits", "done", "ended"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Ceremony:
    """Requests that are signed together.

    Attributes
    ----------
    actor
        Whose screen it is.
    alone
        Whether nobody is registered, so that there is no secret to ask for.
    """

    requests: tuple[Request, ...]
    actor: Actor
    alone: bool

    @property
    def stage(self) -> Stage:
        """Whose turn it is."""
        if any(one.ended for one in self.requests):
            return "ended"
        if any(one.state == "open" for one in self.requests):
            return "first"
        if all(one.complete and not one.alone for one in self.requests):
            return "done"
        if all(one.signatures[0].person != self.actor.person for one in self.requests):
            return "second"
        return "done" if all(one.complete for one in self.requests) else "waits"

    def roles(self) -> tuple[str, ...]:
        """The roles in which the person of this screen would sign.

        Raises
        ------
        NotAllowed, SignatureRefused
            If they may not sign one of them.
        """
        return tuple(role_for(one, self.actor) for one in self.requests)


def gathered(store: Store, wanted: Sequence[str], key: str) -> Ceremony:
    """The requests of an address, for the session of a key.

    Raises
    ------
    NotKnown, UnknownName
        If the session has ended, or there is no such request.
    """
    alone = store.people.alone
    by = store.people.system_user() if alone else store.people.session(key)
    return Ceremony(
        requests=tuple(store.signing.one(one) for one in wanted),
        actor=store.people.who(by),
        alone=alone,
    )


def given(store: Store, key: str, typed: Mapping[str, str]) -> Proof:
    """A proof from what was typed, by the session's person or by somebody beside them.

    Raises
    ------
    NotKnown, SignInRefused
        If the session has ended, or name and secret do not belong together.
    """
    name, secret = typed.get("name", ""), typed.get("secret", "")
    if store.people.alone:
        return store.people.system_user()
    if "beside" in typed:
        return store.people.signing_as(name, secret=secret)
    return store.people.signing(key, secret=secret, name=name)


def signed(store: Store, wanted: Sequence[str], key: str, typed: Mapping[str, str]) -> None:
    """Sign requests together.

    Raises
    ------
    LotHeatError
        If none of them was signed, with why.
    """
    store.signing.sign(*wanted, by=given(store, key, typed))


def why_not(ceremony: Ceremony) -> LotHeatError | None:
    """Why the person of this screen may not sign; None if they may."""
    try:
        ceremony.roles()
    except LotHeatError as problem:
        return problem
    return None
